"""Planned against actual cost of each order, and why they differ: price, hours, quantity, scope.

The heaps that are compared are an order's prescription, its category, and the key of the cut. How much of a
prescription was done is what the standing close-out states; an order that is not closed has done nothing yet, so all
of its plan is scope. So the report covers every row of the ledger's costs and every commitment, and its totals are the
cost report's.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db.models import Sum

from estimating.variance import Kind, Spent, Variance, variance
from orders.common.models import User
from orders.costs.models import Commitment, LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.planning.models import VisitShare
from orders.reports.asking import Asked, asked_read
from orders.reports.cost_table import behind
from orders.reports.cube import Cube, Dimension, Figures, dimensions_named, keyed_sums, names_of
from orders.reports.lines import Line
from orders.reports.table import Column, Table
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import outcomes_standing

USUAL_CUT = "order"
PER_CENT = 100
Work = tuple[int | None, int | None]  # ids of an order and a prescription

KINDS: Mapping[str, Kind] = defaultdict(lambda: "quantity", {"labor": "hours", "premium": "price", "indirect": "price"})

COLUMNS = (
    Column("planned_cents", "Planned", "cents", total=True),
    Column("actual_cents", "Actual", "cents", total=True),
    Column("difference_cents", "Difference", "cents", total=True),
    Column("price_cents", "Price", "cents", total=True),
    Column("hours_cents", "Hours", "cents", total=True),
    Column("quantity_cents", "Quantity", "cents", total=True),
    Column("scope_cents", "Scope", "cents", total=True),
)


@dataclass
class Heap:
    """What was planned and spent of one category, on one prescription of an order, under one key of the cut."""

    planned_cents: int = 0
    actual_cents: int = 0
    amount: int = 0


def variance_table(actor: User, query: Mapping[str, str]) -> Table:
    costs_open_to(actor)
    asked = asked_read(query, by=USUAL_CUT)
    [dimension] = dimensions_named([asked.by])
    found = variances(asked, dimension)
    cube = Cube((dimension,), {})
    names = names_of(dimension)
    rows = [
        Line.of((names.get(key, key), *_cells(figures, why)), **behind(cube, (key,)))
        for key, (figures, why) in found.items()
    ]
    sums = [sum(row[place + 1] for row in rows) for place in range(len(COLUMNS))]
    heading = Column(dimension.code, dimension.heading, "text")
    told = (
        *asked.told(),
        "Price: at another rate than planned. Hours and quantity: more or less than the done part of the plan allows. "
        "Scope: what of the plan was not done, or not yet.",
    )
    title = f"Why costs differ from plan, by {dimension.heading.lower()}"
    return Table(title, told, (heading, *COLUMNS), rows, ("Total", *sums))


def _cells(figures: Figures, why: Variance) -> tuple[int, ...]:
    parts = (why.price_cents, why.hours_cents, why.quantity_cents, why.scope_cents)
    return (figures.planned_cents, figures.actual_cents, figures.difference_cents, *parts)


def variances(asked: Asked, dimension: Dimension) -> dict[str, tuple[Figures, Variance]]:
    """By key, in the order of the keys: what was planned and spent, and why they differ."""
    heaps = _heaps(asked, dimension)
    rates = Rates(asked)
    found: dict[str, tuple[Figures, Variance]] = {}
    for (key, work, category), heap in heaps.items():
        kind = KINDS[category]
        spent = Spent(
            kind=kind,
            planned_cents=heap.planned_cents,
            actual_cents=heap.actual_cents,
            rate=rates.planned(work, category),
            amount=Fraction(heap.amount),
            done=rates.done(work),
        )
        figures, why = found.get(key, (Figures(), Variance()))
        found[key] = (figures + Figures(heap.planned_cents, heap.actual_cents), why + variance(spent))
    return found


def _heaps(asked: Asked, dimension: Dimension) -> dict[tuple[str, Work, str], Heap]:
    heaps: dict[tuple[str, Work, str], Heap] = {}
    beside = ("order_id", "prescription_id", "category")
    for model in (Commitment, LedgerEntry):
        for key, (order, prescription, category), cents, amount in keyed_sums(model, dimension, beside, asked):
            heap = heaps.setdefault((key, (order, prescription), category), Heap())
            if model is Commitment:
                heap.planned_cents += cents
            else:
                heap.actual_cents += cents
                heap.amount += amount
    return heaps


class Rates:
    """What a unit was planned to cost on each prescription of each order, and how much of it was done."""

    def __init__(self, asked: Asked) -> None:
        where = {"order__season": asked.season} if asked.season else {}
        planned = Commitment.objects.filter(**where).order_by().values_list("order_id", "prescription_id", "category")
        self._planned = {
            (order, prescription, category): (cents, minutes)
            for order, prescription, category, cents, minutes in planned.annotate(
                cents=Sum("amount_cents"), worked=Sum("minutes")
            )
        }
        self._products_ul = _products_ul(where)
        self._closed = set(WorkOrder.objects.filter(state="closed").values_list("pk", flat=True))
        self._done: dict[Work, Fraction] = {
            (order, prescription): Fraction(percent, PER_CENT)
            for order, prescription, percent in outcomes_standing().values_list(
                "close_out__order_id", "prescription_id", "percent_complete"
            )
        }

    def planned(self, work: Work, category: str) -> Fraction | None:
        """Cents a minute of labor or a microliter of product; None where nothing was planned or measured."""
        cents, minutes = self._planned.get((*work, category), (0, 0))
        units = {"labor": minutes, "material": self._products_ul.get(work, 0)}.get(category, 0)
        return Fraction(cents) / Fraction(units) if cents > 0 and units > 0 else None

    def done(self, work: Work) -> Fraction:
        """What a closed order states nothing of was done as planned."""
        order, _ = work
        return self._done.get(work, Fraction(1)) if order in self._closed else Fraction(0)


def _products_ul(where: Mapping[str, Any]) -> dict[Work, Fraction]:
    """Product as packaged that the estimates of an order's work reckon with, all products together."""
    shares = VisitShare.objects.filter(
        **{f"visit__order_visit__{name}": value for name, value in where.items()}, visit__order_visit__isnull=False
    ).exclude(visit__state="dropped")
    named = ("visit__order_visit__order_id", "prescription_id", "share", "prescription__share_left")
    amounts: dict[Work, Fraction] = defaultdict(Fraction)
    for order, prescription, share, left, products in shares.values_list(
        *named, "prescription__estimate__products_ul"
    ).order_by():
        amounts[order, prescription] += Fraction(share) * Fraction(left) * _whole(products)
    return dict(amounts)


def _whole(products: Mapping[str, Any]) -> Fraction:
    return sum((Fraction(amount) for amount in products.values()), Fraction(0))
