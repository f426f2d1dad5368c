"""The statement of an award: what it was charged, what its indirect rate applies to, what is left, what is matched."""

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Sum

from estimating.pricing import to_cents
from orders.common.models import User
from orders.costs.fund_selectors import CATEGORY_NAMES, award_term
from orders.costs.indirect_base import (
    Base,
    Charged,
    MonthIndirect,
    base_until,
    by_category,
    month_indirect,
    months_charged,
)
from orders.costs.models import Award, AwardTerm, HeldCharge, LedgerEntry
from orders.costs.selectors import costs_open_to

E4 = 10_000


@dataclass(frozen=True)
class CategoryLine:
    category: str
    name: str
    cents: int


@dataclass(frozen=True)
class AwardStatement:
    award: Award
    until: date
    term: AwardTerm | None
    direct: tuple[CategoryLine, ...]
    base: Base
    months: tuple[MonthIndirect, ...]  # that have a base
    indirect_cents: int  # posted
    indirect_due_cents: int  # what the months come to; what is not posted yet is the difference
    held_cents: int  # waits in suspense, meant for this award
    match_required_cents: int
    match_earned_cents: int
    beside_cents: int  # other funds paid on the same orders: may count as match where the money is not federal

    @property
    def direct_cents(self) -> int:
        return sum(line.cents for line in self.direct)

    @property
    def total_cents(self) -> int:
        return self.direct_cents + self.indirect_cents

    @property
    def ceiling_left_cents(self) -> int:
        return self.award.ceiling_cents - self.total_cents

    @property
    def match_missing_cents(self) -> int:
        return max(0, self.match_required_cents - self.match_earned_cents)

    @property
    def days_left(self) -> int:
        return max(0, (self.award.last_day - self.until).days)


def award_statement(actor: User, award: Award, until: date) -> AwardStatement:
    """By posting month, the month of `until` included."""
    costs_open_to(actor)
    term = award_term(award, until)
    cents = by_category(award, until)
    indirect = cents.pop("indirect", 0)
    charged = Charged(award, until)
    months = tuple(month_indirect(award, month, charged) for month in months_charged(award, until))
    total = sum(cents.values()) + indirect
    return AwardStatement(
        award=award,
        until=until,
        term=term,
        direct=tuple(CategoryLine(code, name, cents[code]) for code, name in CATEGORY_NAMES.items() if code in cents),
        base=base_until(charged, term, until),
        months=months,
        indirect_cents=indirect,
        indirect_due_cents=sum(month.cents for month in months),
        held_cents=_held(award),
        match_required_cents=match_required(term, total),
        match_earned_cents=_match_earned(award, until),
        beside_cents=_beside(award, until),
    )


def match_required(term: AwardTerm | None, total_cents: int) -> int:
    """The larger of the share of what the award pays and the amount that the terms name."""
    if term is None:
        return 0
    return max(to_cents(Fraction(term.match_e4 * total_cents, E4 * 100)), term.match_cents)


def _match_earned(award: Award, until: date) -> int:
    rows = LedgerEntry.objects.filter(award=award, book="match", posting_month__lte=until)
    return int(rows.aggregate(cents=Sum("amount_cents"))["cents"] or 0)


def _beside(award: Award, until: date) -> int:
    rows = LedgerEntry.objects.filter(book="cost", posting_month__lte=until)
    orders = rows.filter(award=award, order__isnull=False).order_by().values("order")
    others = rows.filter(order__in=orders, award__isnull=True, fund__is_suspense=False)
    return int(others.aggregate(cents=Sum("amount_cents"))["cents"] or 0)


def _held(award: Award) -> int:
    waiting = HeldCharge.objects.filter(award=award, state="waiting")
    return int(waiting.aggregate(cents=Sum("amount_cents"))["cents"] or 0)
