"""Who did it: too young, alone, without a license."""

from collections.abc import Collection, Iterable
from datetime import date

from orders.commands.heard import Heard
from orders.commands.raising import CHEMICALS, Raiser
from orders.crews.models import Person, Qualification
from orders.estimates.models import Method, Rate
from orders.field.models import CheckInPerson
from orders.field.selectors.policy import field_policy
from orders.planning.models import Prescription
from orders.sites.models import Site
from orders.workorders.models import TimedSpan, WorkOrder
from orders.workorders.who_may import years_old

SAW_SKILL = "sawyer"


def people_there(site: Site, day: date) -> set[int]:
    """Keys of those who checked in at the site that day, or were timed on its orders."""
    there = CheckInPerson.objects.filter(check_in__site=site, check_in__work_date=day)
    timed = TimedSpan.objects.filter(order__site=site, work_date=day, replaced_by__isnull=True, minutes__gt=0)
    return {key for rows in (there, timed) for key in rows.order_by().values_list("person_id", flat=True)}


def uses_saws(prescriptions: Iterable[Prescription]) -> bool:
    """By the rates of the estimate: a step of the method that a sawyer does."""
    asked = [(row.estimate.rate_book_id, row.method.code) for row in prescriptions]
    return any(Rate.objects.filter(book=book, method=method, skill=SAW_SKILL).exists() for book, method in asked)


def age_doubts(raiser: Raiser, people: Iterable[Person], day: date, key: str, at_what: str) -> None:
    """Where no day of birth is on record there is nothing to tell."""
    least = field_policy().least_age
    for person in people:
        if person.born_on is not None and years_old(person.born_on, day) < least:
            title = f"{person} is under {least} and was at work with {at_what} on {day}"
            raiser.urgent(f"{key}:{person.public_id}", "under_age", title, roles=CHEMICALS)


def lone_doubts(raiser: Raiser, people: Collection[Person], site: Site, day: date, *, saws: bool) -> None:
    """Nobody else was there by the check-ins, and the program's rules want a second person."""
    policy = field_policy()
    is_let = policy.lone_saw_work if saws else policy.lone_herbicide_work
    if is_let or len({person.pk for person in people} | people_there(site, day)) > 1:
        return
    at_what = "a saw" if saws else "herbicide"
    for person in people:
        title = f"{person} was alone at {site} on {day} at work with {at_what}"
        key = f"{person.public_id}:{site.public_id}:{day}"
        raiser.settle(key, "lone_saw_work" if saws else "lone_herbicide_work", title)


def skill_doubts(heard: Heard, order: WorkOrder, method: Method, people: Collection[Person], day: date) -> None:
    """Nobody who worked holds what the method needs, there and then."""
    needed = method.qualification
    if needed is None or not people:
        return
    held = Qualification.objects.filter(kind=needed, person__in=people, first_day__lte=day, last_day__gte=day)
    here = {None, order.site.jurisdiction_id}
    if not any(row.jurisdiction_id in here for row in held):
        title = f"{method.name} on {order} on {day}: nobody who worked holds {needed.name}"
        key = f"{order.public_id}:{method.code}:{day}"
        Raiser(heard, order=order).urgent(key, "license_missing", title, roles=CHEMICALS)
