"""Effort statements: made of what the records say, confirmed by name (2 CFR 200.430(g)).

Charges for pay rest on records that reflect the work done, cover all of a person's paid activity, federal and not, and
are confirmed by the person or by a supervisor who saw the work. A statement that no longer fits the time is made anew;
the old one stays and says that it was replaced.
"""

from datetime import date

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, RoleMissing, WrongState
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.effort_lines import Effort, effort_of, is_out_of_date
from orders.costs.effort_selectors import may_confirm
from orders.costs.models import EffortLine, EffortStatement
from orders.costs.paid_time import paid_days
from orders.costs.services.labor import is_paid
from orders.crews.models import Person

MOST_DAYS = 366


@writing()
def effort_make(*, person: Person, first_day: date, last_day: date, stamp: Stamp) -> EffortStatement:
    """The statement of a person's days. Where one stands that still fits, it is that one; else a new revision, and the
    one before is replaced."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    found.need((last_day - first_day).days < MOST_DAYS, "last_day", f"It has {MOST_DAYS} days at most.")
    found.need(is_paid(person), "person", f"{person} is not paid here.")
    found.refuse("The effort statement was not made.")
    effort = effort_of(person, first_day, last_day)
    if not effort.minutes:
        errors = [FieldError("person", f"{person} has no paid time from {first_day} to {last_day}.")]
        raise Invalid("The effort statement was not made.", errors)
    rows = EffortStatement.objects.filter(person=person, first_day=first_day, last_day=last_day)
    before = rows.order_by("-revision").first()
    if before is not None and before.state != "replaced" and not is_out_of_date(before, effort):
        return before
    rows.exclude(state="replaced").update(state="replaced")
    statement = _stored(person, first_day, last_day, before.revision + 1 if before else 1, effort, stamp)
    after = {"first_day": first_day.isoformat(), "last_day": last_day.isoformat(), "revision": statement.revision}
    change_record(stamp=stamp, verb="effort_make", entity=statement, after=after)
    return statement


def _stored(
    person: Person, first_day: date, last_day: date, revision: int, effort: Effort, stamp: Stamp
) -> EffortStatement:
    statement = EffortStatement.objects.create(
        person=person,
        first_day=first_day,
        last_day=last_day,
        revision=revision,
        minutes=effort.minutes,
        made_at=stamp.at,
    )
    EffortLine.objects.bulk_create(EffortLine(statement=statement, **vars(line)) for line in effort.lines)
    return statement


@writing()
def effort_make_all(*, first_day: date, last_day: date, stamp: Stamp) -> list[EffortStatement]:
    """Of everybody with paid time in these days; statements that still fit stay as they are."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    found.refuse("The effort statements were not made.")
    people = {day.person.pk: day.person for day in paid_days(first_day, last_day) if day.minutes}
    return [
        effort_make(person=person, first_day=first_day, last_day=last_day, stamp=stamp) for person in people.values()
    ]


@writing()
def effort_confirm(*, statement: EffortStatement, name: str, stamp: Stamp) -> EffortStatement:
    """By the person's own typed name, or by a supervisor who saw the work; every day must have its sheet."""
    actor = stamp.by
    if actor is None or not may_confirm(actor, statement):
        raise RoleMissing("A statement is confirmed by the person, or by somebody who led the work in those days.")
    _name_check(name, Person.objects.filter(user=actor).first())
    effort = effort_of(statement.person, statement.first_day, statement.last_day)
    if is_out_of_date(statement, effort):
        raise WrongState("The time has changed since this statement was made. Have it made anew.")
    if effort.lacking:
        errors = [FieldError("days", f"{day} has no day sheet.") for day in effort.lacking]
        raise Invalid("It does not cover all paid time yet: some days have no day sheet.", errors)
    held = EffortStatement.objects.filter(pk=statement.pk, state="draft")
    told = {"state": "confirmed", "confirmed_name": " ".join(name.split()), "confirmed_by": actor}
    if held.update(**told, confirmed_at=stamp.at) != 1:
        raise WrongState("This statement was confirmed or replaced already.")
    statement.refresh_from_db()
    after = {"state": "confirmed", "confirmed_name": statement.confirmed_name}
    change_record(stamp=stamp, verb="effort_confirm", entity=statement, before={"state": "draft"}, after=after)
    return statement


def _name_check(name: str, own: Person | None) -> None:
    """Whoever is known here by a name signs with that one."""
    typed = " ".join(name.split())
    found = Findings()
    found.need(bool(typed), "name", "Type your name.")
    known = " ".join(own.name.split()) if own else typed
    found.need(typed.casefold() == known.casefold(), "name", f"Type your own name as it stands here: {known}.")
    found.need(len(typed) <= 120, "name", "This name is too long.")
    found.refuse("The statement was not confirmed.")
