"""Who may mix and who may apply: on a site, on a day, a product. A license, supervision, or a volunteer's permit.

This repeats what is on record here. The license, the label and the rules of the state decide.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Q

from orders.crews.models import Person, Qualification
from orders.sites.models import Site
from orders.supplies.models import Product, VolunteerPermit
from orders.workorders.models import RecordProfile

CERTIFIED, TECHNICIAN = "certified-applicator", "registered-technician"
# No profile goes below it: our own rule for herbicide.
LEAST_AGE = 18


@dataclass(frozen=True)
class May:
    """`by`: certified, supervised or permit; empty where nothing lets the person. `why` says it in words either way."""

    allowed: bool
    by: str
    why: tuple[str, ...]


@dataclass(frozen=True)
class Use:
    """Where, when, under whose rules and beside whom; `there` are the keys of everybody present."""

    site: Site
    day: date
    profile: RecordProfile | None
    there: Collection[int] = ()


def may_mix(person: Person, use: Use) -> May:
    """Licensed people, and technicians whose supervisor is there. A volunteer's permit never lets anybody mix."""
    licensed = _licensed(person, use)
    if licensed.allowed or not _permits(person, use):
        return licensed
    return May(False, "", (*licensed.why, "A volunteer's permit lets nobody mix or load."))


def may_apply(person: Person, use: Use, products: Collection[Product]) -> May:
    """As for mixing, or with a permit that covers each of the products on this land on that day."""
    licensed = _licensed(person, use)
    if licensed.allowed or _too_young(person, use):
        return licensed
    permits = _permits(person, use)
    if not permits:
        return licensed
    against = [why for product in products if product.is_herbicide and (why := _against(permits, product, use))]
    if against:
        return May(False, "", tuple(dict.fromkeys(against)))
    return May(True, "permit", (f"Permit to {max(permit.last_day for permit in permits)}.",))


def _licensed(person: Person, use: Use) -> May:
    if _too_young(person, use):
        return May(False, "", (f"{person.name} is under {_least_age(use)}.",))
    held = list(_held(person, use))
    certified = next((row for row in held if row.kind.code == CERTIFIED), None)
    if certified:
        return May(True, "certified", (f"{certified.kind.name} {certified.number}".strip(),))
    for row in held:
        if row.supervised_by_id in use.there and _is_certified(row.supervised_by, use):
            return May(True, "supervised", (f"Under direct supervision by {row.supervised_by}.",))
    if held:
        named = ", ".join(sorted({str(row.supervised_by or "nobody named") for row in held}))
        return May(False, "", (f"Needs the supervisor there: {named}.",))
    return May(False, "", (f"Holds no license in {use.site.jurisdiction.code} on {use.day}.",))


def _held(person: Person, use: Use) -> Collection[Qualification]:
    here = Q(jurisdiction__isnull=True) | Q(jurisdiction=use.site.jurisdiction_id)
    rows = person.qualifications.filter(here, kind__code__in=(CERTIFIED, TECHNICIAN))
    in_force = rows.filter(first_day__lte=use.day, last_day__gte=use.day)
    return list(in_force.select_related("kind", "supervised_by").order_by("kind__code", "id"))


def _is_certified(supervisor: Person | None, use: Use) -> bool:
    return supervisor is not None and any(row.kind.code == CERTIFIED for row in _held(supervisor, use))


def _least_age(use: Use) -> int:
    return max(LEAST_AGE, use.profile.least_age if use.profile else 0)


def _too_young(person: Person, use: Use) -> bool:
    """Where no day of birth is on record the lead answers for it."""
    return person.born_on is not None and years_old(person.born_on, use.day) < _least_age(use)


def years_old(born_on: date, day: date) -> int:
    """Who was born on February 29 is a year older from March 1 on, where there is no such day."""
    return day.year - born_on.year - ((day.month, day.day) < (born_on.month, born_on.day))


def _permits(person: Person, use: Use) -> list[VolunteerPermit]:
    rows = person.volunteer_permits.filter(first_day__lte=use.day, last_day__gte=use.day)
    return list(rows.prefetch_related("products", "sites").order_by("id"))


def _against(permits: Collection[VolunteerPermit], product: Product, use: Use) -> str:
    """Why no permit lets this product be used here; empty where one does."""
    profile = use.profile
    if profile is None or not profile.volunteers_may_apply:
        return f"The rules on record for {use.site.jurisdiction.code} let no volunteer apply."
    words = {word.casefold() for word in profile.volunteer_signal_words}
    if words and product.signal_word.casefold() not in words:
        allowed = ", ".join(profile.volunteer_signal_words)
        return f"{product.name} has the signal word {product.signal_word or 'none'}; volunteers may apply {allowed}."
    on_land = [permit for permit in permits if use.site in permit.sites.all()]
    if not on_land:
        return f"No permit covers {use.site.name} on {use.day}."
    if not any(product in permit.products.all() for permit in on_land):
        return f"No permit for {use.site.name} covers {product.name}."
    return ""
