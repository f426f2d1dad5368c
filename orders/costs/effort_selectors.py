"""Reads of effort statements. They name minutes, funds and awards, and no rate and no cost: a person may see the own
one, a crew lead those of the people led in those days, and the office's money roles and coordinators all."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE
from orders.costs.effort_lines import Effort, effort_of, is_out_of_date
from orders.costs.models import EffortStatement
from orders.costs.paid_time import paid_days
from orders.costs.selectors import costs_open_to
from orders.crews.models import CrewMembership, Person

STATES = EffortStatement.STATES


def effort_statements(actor: User) -> QuerySet[EffortStatement]:
    """Those that the actor may see, every revision."""
    rows = EffortStatement.objects.select_related("person", "confirmed_by")
    rows = rows.prefetch_related("lines__fund", "lines__award").order_by("-first_day", "person__name", "-revision")
    if actor.has_role(FINANCE, ADMINISTRATOR, COORDINATOR):
        return rows
    return rows.filter(Q(person__user=actor) | Exists(_led_by(actor, OuterRef("person"))))


def effort_statement_get(actor: User, statement_id: UUID) -> EffortStatement:
    found = effort_statements(actor).filter(public_id=statement_id).first()
    if found is None:
        raise NotFound("There is no such effort statement.")
    return found


def own_statements(actor: User) -> QuerySet[EffortStatement]:
    return effort_statements(actor).filter(person__user=actor)


def _led_by(actor: User, person: OuterRef) -> QuerySet[CrewMembership]:
    """Memberships of a statement's person, in its days, in crews that the actor led in its days."""
    members = CrewMembership.objects.filter(_within(OuterRef("first_day"), OuterRef("last_day")), person=person)
    its_days = _within(OuterRef(OuterRef("first_day")), OuterRef(OuterRef("last_day")))
    leads = CrewMembership.objects.filter(its_days, crew=OuterRef("crew"), is_lead=True, person__user=actor)
    return members.filter(Exists(leads))


def _within(first: OuterRef, last: OuterRef) -> Q:
    return Q(first_day__lte=last) & (Q(last_day__isnull=True) | Q(last_day__gte=first))


def may_confirm(actor: User, statement: EffortStatement) -> bool:
    """The person; or with first-hand knowledge of the work, who led the person's crew in those days, or the
    coordinator. Finance sees all and saw no work."""
    if statement.person.user_id == actor.pk or actor.has_role(COORDINATOR):
        return True
    rows = EffortStatement.objects.filter(pk=statement.pk)
    return rows.filter(Exists(_led_by(actor, OuterRef("person")))).exists()


@dataclass(frozen=True)
class Shown:
    """A statement beside what the records say now."""

    statement: EffortStatement
    effort: Effort

    @property
    def is_out_of_date(self) -> bool:
        return self.statement.state == "replaced" or is_out_of_date(self.statement, self.effort)


def shown(statements: Iterable[EffortStatement]) -> list[Shown]:
    return [Shown(row, effort_of(row.person, row.first_day, row.last_day)) for row in statements]


def effort_missing(actor: User, first: date, last: date) -> list[Person]:
    """Who has paid time in these days and no statement of them that stands."""
    costs_open_to(actor)
    has = set(_standing(first, last).values_list("person", flat=True))
    paid: dict[int, Person] = {day.person.pk: day.person for day in paid_days(first, last) if day.minutes}
    return [person for pk, person in paid.items() if pk not in has]


def effort_standing(actor: User, first: date, last: date) -> Iterator[Shown]:
    """The newest revision of everybody's statement of exactly these days."""
    costs_open_to(actor)
    rows = _standing(first, last).select_related("person", "confirmed_by").prefetch_related("lines")
    yield from shown(rows.order_by("person__name", "person_id"))


def _standing(first: date, last: date) -> QuerySet[EffortStatement]:
    return EffortStatement.objects.filter(first_day=first, last_day=last).exclude(state="replaced")
