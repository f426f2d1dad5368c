"""What an award was charged directly, and the part of it that its indirect rate applies to."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import TypeVar
from uuid import NAMESPACE_URL, UUID, uuid5

from django.db.models import Q, QuerySet, Sum

from estimating.indirect import BaseLine, indirect_cents, mtdc_cents
from orders.costs.fund_selectors import award_term
from orders.costs.models import Award, AwardTerm, BillLine, HeldCharge, LedgerEntry

KIND = "indirect"
SALARIES = ("labor", "premium")
Key = TypeVar("Key")


@dataclass(frozen=True)
class Base:
    """Direct costs until the end of a month, and how they come down to the base."""

    direct_cents: int
    base_cents: int
    equipment_cents: int  # left out: equipment from the threshold on
    subaward_cents: int  # left out: of subawards beyond the cap
    other_cents: int  # left out: what is no salary, where the base is salaries


@dataclass(frozen=True)
class MonthIndirect:
    """The base that a month added, and its indirect cost by the terms of its last day."""

    month: date
    term: AwardTerm | None
    base_cents: int
    indirect_e4: int
    cents: int


def direct_rows(award: Award, until: date) -> QuerySet[LedgerEntry]:
    rows = LedgerEntry.objects.filter(award=award, book="cost", posting_month__lte=until)
    return rows.exclude(category="indirect")


class Charged:
    """What an award was charged directly until a day, by posting month; read once for all months."""

    def __init__(self, award: Award, until: date) -> None:
        rows = direct_rows(award, until).order_by()
        plain = rows.exclude(source_kind="bill_line").values_list("posting_month", "category")
        billed = rows.filter(source_kind="bill_line").values_list("posting_month", "category", "source_id")
        much = Sum("amount_cents")
        self.plain = [(month, category, int(cents)) for month, category, cents in plain.annotate(cents=much)]
        summed = billed.annotate(cents=much)
        self.billed = [(month, (line, category), int(cents)) for month, category, line, cents in summed]
        self.known = _bill_lines({line for _, (line, _), _ in self.billed})

    def lines(self, term: AwardTerm | None, until: date) -> tuple[list[BaseLine], int]:
        """The direct costs as the base sees them, less equipment that costs the threshold or more, which is told apart.
        A line's whole price decides, also where the award pays a part of it."""
        lines = [BaseLine(category, cents) for category, cents in _until(self.plain, until).items()]
        equipment = 0
        for (source_id, category), cents in _until(self.billed, until).items():
            line = self.known.get(source_id)
            if line and term and category == "equipment" and unit_cents(line) >= term.equipment_threshold_cents:
                equipment += cents
            else:
                lines.append(BaseLine(category, cents, subaward=_subaward(line)))
        return lines, equipment


def base_until(charged: Charged, term: AwardTerm | None, until: date) -> Base:
    """By the kind of base that the terms name, over everything that was posted until then: the cap of a subaward is
    over its whole period."""
    lines, equipment = charged.lines(term, until)
    direct = sum(line.cents for line in lines) + equipment
    kind = term.indirect_base if term else "none"
    if term is None or kind == "none":
        return Base(direct, 0, 0, 0, 0)
    if kind == "direct":
        return Base(direct, direct, 0, 0, 0)
    if kind == "salaries":
        salaries = sum(line.cents for line in lines if line.category in SALARIES)
        return Base(direct, salaries, 0, 0, direct - salaries)
    base = mtdc_cents(
        lines,
        subaward_cap_cents=term.subaward_cap_cents,
        equipment_threshold_cents=term.equipment_threshold_cents,
    )
    return Base(direct, base, equipment, direct - equipment - base, 0)


def _until(rows: Iterable[tuple[date, Key, int]], until: date) -> dict[Key, int]:
    found: dict[Key, int] = defaultdict(int)
    for month, key, cents in rows:
        if month <= until:
            found[key] += cents
    return found


def _bill_lines(ids: Iterable[object]) -> dict[object, BillLine]:
    rows = BillLine.objects.select_related("bill__purchase_order", "purchase_line__order")
    return {line.public_id: line for line in rows.filter(public_id__in=list(ids))}


def unit_cents(line: BillLine) -> Decimal:
    """The price of one piece, as it was ordered; a line without an order is one piece."""
    ordered = line.purchase_line
    return Decimal(line.amount_cents) if ordered is None else ordered.amount_cents / ordered.quantity


def _subaward(line: BillLine | None) -> str:
    order = (line.purchase_line.order if line.purchase_line else line.bill.purchase_order) if line else None
    return str(order.public_id) if order and order.is_subaward else ""


def month_indirect(award: Award, month: date, charged: Charged | None = None) -> MonthIndirect:
    """What the month added to the base, at the rate of the terms that hold on its last day."""
    term = award_term(award, month_end(month))
    before = month - timedelta(days=1)
    charged = charged or Charged(award, month)
    base = base_until(charged, term, month).base_cents - base_until(charged, term, before).base_cents
    rate = term.indirect_e4 if term else 0
    return MonthIndirect(month, term, base, rate, indirect_cents(base, rate))


def indirect_source(award: Award, month: date) -> UUID:
    return uuid5(NAMESPACE_URL, f"{award.public_id}/{month:%Y-%m}")


def indirect_standing(award: Award, month: date) -> QuerySet[LedgerEntry]:
    """What is posted of a month. Whoever pays it: what was held or settled elsewhere counts as posted."""
    rows = LedgerEntry.objects.filter(source_kind=KIND, source_id=indirect_source(award, month))
    return rows.filter(reverses__isnull=True, reversed_by__isnull=True).order_by("id")


def awards_to_post(month: date) -> list[Award]:
    """Awards whose indirect cost of a posting month is not what its base makes it now."""
    charged = LedgerEntry.objects.filter(book="cost", posting_month=month, award__isnull=False)
    held = HeldCharge.objects.filter(source_kind=KIND, award__isnull=False)
    concerned = Q(pk__in=charged.values("award")) | Q(pk__in=held.values("award"))
    return [award for award in Award.objects.filter(concerned).order_by("code") if _is_open(award, month)]


def _is_open(award: Award, month: date) -> bool:
    posted = sum(row.amount_cents for row in indirect_standing(award, month))
    return posted != month_indirect(award, month).cents


def months_charged(award: Award, until: date) -> list[date]:
    """The posting months in which anything direct was charged."""
    rows = direct_rows(award, until).order_by("posting_month").values_list("posting_month", flat=True)
    return list(rows.distinct())


def month_end(month: date) -> date:
    following = date(month.year + month.month // 12, month.month % 12 + 1, 1)
    return following - timedelta(days=1)


def by_category(award: Award, until: date) -> dict[str, int]:
    found: dict[str, int] = defaultdict(int)
    rows = LedgerEntry.objects.filter(award=award, book="cost", posting_month__lte=until)
    for category, cents in rows.order_by().values_list("category").annotate(cents=Sum("amount_cents")):
        found[category] += int(cents)
    return dict(found)
