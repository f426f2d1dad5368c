"""What was done with herbicide that a person should look at: who, in which weather, how strong, and what is missing."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet

from orders.commands.doubts.material import material_doubts
from orders.commands.doubts.people import age_doubts, lone_doubts, people_there
from orders.commands.heard import Heard
from orders.commands.raising import CHEMICALS, Raiser
from orders.crews.models import Person
from orders.sites.models import Site
from orders.supplies.models import Product
from orders.workorders.batches import balance, day_ends_standing
from orders.workorders.deviations import deviations_of
from orders.workorders.label_cards import label_shown, product_card
from orders.workorders.models import Application, MixBatch, MixDayEnd, WeatherCheck
from orders.workorders.records.rules import Rules
from orders.workorders.selectors import close_out_standing
from orders.workorders.weather_checks import NO_GO
from orders.workorders.who_may import May, Use, may_apply, may_mix

# Common practice: stumps are treated within minutes where the carrier is water; the label decides.
MOST_MINUTES_FROM_CUT = 15
UL_PER_L = 1_000_000


def batch_doubts(heard: Heard, batch: MixBatch) -> None:
    if not _herbicides(batch):
        return
    raiser = Raiser(heard, site=batch.site, crew=batch.crew)
    beside = [batch.mixed_by, *([batch.supervised_by] if batch.supervised_by else [])]
    word = may_mix(batch.mixed_by, _use(batch.site, batch.work_date, beside))
    if not word.allowed:
        _unlicensed(raiser, batch.mixed_by, word, f"{batch.public_id}", f"mixed herbicide on {batch.work_date}")
    age_doubts(raiser, [batch.mixed_by], batch.work_date, f"{batch.public_id}", "herbicide")


def application_doubts(heard: Heard, application: Application) -> None:
    batch, key = application.batch, f"{application.public_id}"
    raiser = Raiser(heard, order=application.order, site=application.site, crew=batch.crew)
    products = _herbicides(batch)
    if products:
        people = [held.person for held in application.people.select_related("person").order_by("id")]
        beside = [*people, application.responsible]
        use = _use(application.site, application.work_date, beside)
        for person in {one.pk: one for one in people or [application.responsible]}.values():
            word = may_apply(person, use, products)
            if not word.allowed:
                _unlicensed(raiser, person, word, key, f"applied herbicide on {application.work_date}")
        age_doubts(raiser, people, application.work_date, key, "herbicide")
        lone_doubts(raiser, people, application.site, application.work_date, saws=False)
    _late_after_cut(raiser, application)
    deviation_doubts(heard, application)
    _balance_where_ended(heard, application)
    if (standing := close_out_standing(application.order)) is not None:
        material_doubts(raiser, standing)


def day_end_doubts(heard: Heard, day_end: MixDayEnd) -> None:
    """The day's sum: mixed, or carried over from before, is applied, carried over or disposed of."""
    batch, day = day_end.batch, day_end.work_date
    found = balance(batch, day)
    raiser, of_day = Raiser(heard, site=batch.site, crew=batch.crew), f"{batch.public_id}:{day}:"
    key = f"{of_day}{found.difference_ul}" if found.is_off else ""
    raiser.no_more(of_day, "mix_balance", but=key)
    if not found.is_off:
        return
    liters = found.difference_ul / UL_PER_L
    words = f"{liters:.2f} L not accounted for" if liters > 0 else f"{-liters:.2f} L more told than there was"
    data = {
        "there_ul": found.there_ul,
        "applied_ul": found.applied_ul,
        "carried_over_ul": found.carried_over_ul,
        "disposed_ul": found.disposed_ul,
    }
    raiser.note(key, "mix_balance", f"{batch}, end of {day}: {words}", data=data, roles=CHEMICALS)


def weather_doubts(heard: Heard, check: WeatherCheck, passed_by: str, passed_reason: str) -> None:
    """`passed_by` as it was sent: nobody can let a mandatory limit pass, and that somebody meant to is told."""
    if check.verdict != NO_GO:
        return
    raiser = Raiser(heard, site=check.site)
    mandatory = [str(found["words"]) for found in check.findings if found["kind"] == "label-mandatory"]
    data = {"findings": check.findings, "passed_by": passed_by, "passed_reason": passed_reason}
    told = {"detail": " ".join(mandatory), "data": data, "roles": CHEMICALS}
    if passed_by:
        title = f"{passed_by} meant to let a mandatory limit of a label pass at {check.site}"
        raiser.urgent(f"{check.public_id}", "mandatory_limit_passed", title, **told)
    elif check.purpose != "start":
        title = f"Weather outside a mandatory limit of a label during work at {check.site}"
        raiser.urgent(f"{check.public_id}", "weather_no_go", title, **told)
    for application in _applications_beside(check):
        deviation_doubts(heard, application)


def deviation_doubts(heard: Heard, application: Application) -> None:
    """What was outside a mandatory limit, told to the responsible applicator and the office at once."""
    raiser = Raiser(heard, order=application.order, site=application.site, crew=application.batch.crew)
    for deviation in deviations_of(application, checks_of(application), _card(application)):
        raiser.urgent(
            f"{application.public_id}:{deviation.code}:{deviation.product}",
            "label_deviation",
            f"Outside a mandatory limit on {application.order}: {deviation.message}",
            data={**deviation.as_dict(), "application": str(application.public_id)},
            person=application.responsible,
            roles=CHEMICALS,
        )


def checks_of(application: Application) -> list[WeatherCheck]:
    """The last check before the use, those made during it, and the first one after it if it is of the end."""
    rows = _beside(WeatherCheck.objects.all(), application).order_by("at", "id")
    before = rows.filter(at__lte=application.started_at).last()
    during = list(rows.filter(at__gt=application.started_at, at__lte=application.at))
    after = rows.filter(at__gt=application.at).first()
    found = [*([before] if before else []), *during]
    return [*found, after] if after and after.purpose == "end" else found


def _beside(rows: QuerySet[WeatherCheck], application: Application) -> QuerySet[WeatherCheck]:
    return rows.filter(
        Q(batch=application.batch) | Q(batch__isnull=True),
        Q(order=application.order) | Q(order__isnull=True),
        site=application.site,
        work_date=application.work_date,
    )


def _applications_beside(check: WeatherCheck) -> Iterable[Application]:
    rows = Application.objects.filter(site=check.site, work_date=check.work_date, replaced_by__isnull=True)
    if check.batch_id is not None:
        rows = rows.filter(batch=check.batch_id)
    if check.order_id is not None:
        rows = rows.filter(order=check.order_id)
    return rows.order_by("id")


def _card(application: Application) -> dict[str, Any]:
    """What is in the mix and not on the order has a label too: as it stands today."""
    card = label_shown(application.order)
    known = {product["code"] for product in card["products"]}
    method = application.prescription.method.code if application.prescription else ""
    others = [product for product in _herbicides(application.batch) if product.code not in known]
    return {**card, "products": [*card["products"], *(product_card(product, [method]) for product in others)]}


def _herbicides(batch: MixBatch) -> list[Product]:
    parts = batch.parts.filter(product__is_herbicide=True).select_related("product").order_by("id")
    return list({part.product_id: part.product for part in parts}.values())


def _use(site: Site, day: date, beside: Iterable[Person]) -> Use:
    there = people_there(site, day) | {person.pk for person in beside}
    return Use(site=site, day=day, profile=Rules.read().of(site.jurisdiction.code, day), there=there)


def _unlicensed(raiser: Raiser, person: Person, word: May, key: str, what: str) -> None:
    title = f"{person} {what}, and nothing on record lets them"
    raiser.urgent(f"{key}:{person.public_id}", "unlicensed_use", title, detail=" ".join(word.why), roles=CHEMICALS)


def _late_after_cut(raiser: Raiser, application: Application) -> None:
    minutes = application.minutes_from_cut
    if minutes is not None and minutes > MOST_MINUTES_FROM_CUT:
        title = f"{application.order}: stems were treated {minutes} minutes after they were cut"
        raiser.note(f"{application.public_id}", "late_after_cut", title, roles=CHEMICALS)


def _balance_where_ended(heard: Heard, application: Application) -> None:
    """A use that is heard of after the day was ended changes its sum."""
    ended = day_ends_standing(application.batch).filter(work_date=application.work_date).last()
    if ended is not None:
        day_end_doubts(heard, ended)
