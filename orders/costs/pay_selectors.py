"""What people are paid and by which rules. Reads that an interface calls take the actor: all of it is finance's."""

from datetime import date
from uuid import UUID

from django.db.models import F, Q, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.costs.models import CompTimeAgreement, MatchRate, OvertimeRule, PayPolicy, PayRate, StockPolicy
from orders.costs.selectors import costs_open_to
from orders.crews.models import LaborRole, Person
from orders.sites.models import Jurisdiction


def pay_rate_for(person: Person, on: date, role: LaborRole | None = None) -> PayRate | None:
    """The newest rate that has begun: in the role, else in any; without a role only the latter."""
    rates = PayRate.objects.filter(person=person, from_day__lte=on)
    rates = rates.filter(Q(role=role) | Q(role=None)) if role else rates.filter(role=None)
    return rates.order_by(F("role_id").desc(nulls_last=True), "-from_day").first()


def pay_policy(on: date) -> PayPolicy:
    """The newest that has begun."""
    found = PayPolicy.objects.filter(from_day__lte=on).order_by("-from_day").first()
    if found is None:
        raise NotFound(f"No pay policy has begun by {on}.")
    return found


def overtime_rule(jurisdiction: Jurisdiction | None, on: date) -> OvertimeRule | None:
    """The rule of the jurisdiction, or where it has none the federal one.

    A jurisdiction's rule comes with the federal one's limits wherever those are lower: it may only add (29 USC 218(a)).
    The row is for reading and not to be saved.
    """
    federal = _rule(None, on)
    own = _rule(jurisdiction, on) if jurisdiction else None
    if own is None or federal is None:
        return own or federal
    own.week_minutes = min(own.week_minutes, federal.week_minutes)
    own.day_minutes = _lower(own.day_minutes, federal.day_minutes)
    own.day_double_minutes = _lower(own.day_double_minutes, federal.day_double_minutes)
    own.seventh_day = own.seventh_day or federal.seventh_day
    return own


def _rule(jurisdiction: Jurisdiction | None, on: date) -> OvertimeRule | None:
    rules = OvertimeRule.objects.filter(jurisdiction=jurisdiction, from_day__lte=on)
    return rules.order_by("-from_day").first()


def _lower(one: int | None, other: int | None) -> int | None:
    return min((minutes for minutes in (one, other) if minutes is not None), default=None)


def pay_rates(actor: User, *, name: str = "") -> QuerySet[PayRate]:
    """All rates, those of a person together, the newest first."""
    costs_open_to(actor)
    rows = PayRate.objects.filter(person__name__icontains=name) if name else PayRate.objects.all()
    return rows.select_related("person", "role").order_by("person__name", "-from_day", "id")


def pay_policies(actor: User) -> QuerySet[PayPolicy]:
    costs_open_to(actor)
    return PayPolicy.objects.order_by("-from_day")


def overtime_rules(actor: User) -> QuerySet[OvertimeRule]:
    costs_open_to(actor)
    return OvertimeRule.objects.select_related("jurisdiction").order_by("jurisdiction__code", "-from_day", "id")


def comp_time_agreements(actor: User, *, name: str = "") -> QuerySet[CompTimeAgreement]:
    costs_open_to(actor)
    rows = CompTimeAgreement.objects.filter(person__name__icontains=name) if name else CompTimeAgreement.objects.all()
    return rows.select_related("person").order_by("person__name", "-first_day", "id")


def comp_time_agreement_get(actor: User, agreement_id: UUID) -> CompTimeAgreement:
    found = comp_time_agreements(actor).filter(public_id=agreement_id).first()
    if found is None:
        raise NotFound("There is no such agreement.")
    return found


def match_rates(actor: User) -> QuerySet[MatchRate]:
    costs_open_to(actor)
    return MatchRate.objects.select_related("role").order_by("person_type", "role__code", "-from_day", "id")


def stock_policies(actor: User) -> QuerySet[StockPolicy]:
    costs_open_to(actor)
    return StockPolicy.objects.order_by("-from_day")
