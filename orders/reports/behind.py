"""The rows behind a figure of a cost report: what was committed and what was posted, down to the cent."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Q, QuerySet, Sum

from orders.common.errors import NotFound
from orders.common.models import User
from orders.costs.models import Commitment, CostRow, LedgerEntry
from orders.costs.selectors import costs_open_to, fund_get
from orders.planning.models import Season
from orders.reports import costs
from orders.reports.asking import Asked, month_after, month_read
from orders.reports.cube import LABOR_MINUTES, Dimension, Figures, dimensions_named, names_of, rows_asked

ORDER_NUMBER_DIGITS = 9  # what has more is no order number, and does not fit the column

Row = TypeVar("Row", bound=CostRow)


@dataclass(frozen=True)
class CellBehind:
    """`figures` are summed by the database over the very rows that stand beside them. `words` name the cell."""

    words: str
    figures: Figures
    commitments: QuerySet[Commitment]
    ledger: QuerySet[LedgerEntry]


@dataclass(frozen=True)
class RowsBehind:
    """The same of a report that is cut once."""

    heading: str
    row: costs.CostRow
    commitments: QuerySet[Commitment]
    ledger: QuerySet[LedgerEntry]


def rows_behind(
    *, actor: User, by: str, key: str, season: Season | None = None, fund: UUID | None = None
) -> RowsBehind:
    """`key` is that of the report's row."""
    costs_open_to(actor)
    dimensions_named([by])
    asked = Asked(season=season, fund=fund_get(fund) if fund else None)
    found = cell_behind(actor=actor, asked=asked, cell={by: key})
    return RowsBehind(costs.CUTS[by], costs.cost_row(key, found.figures), found.commitments, found.ledger)


def cell_behind(*, actor: User, asked: Asked, cell: Mapping[str, str]) -> CellBehind:
    """`cell`: the key in each dimension that the report is cut by; without any, all rows that were asked for."""
    costs_open_to(actor)
    dimensions = dimensions_named(list(cell)) if cell else ()
    commitments = _rows(Commitment, dimensions, cell, asked).select_related("fund", "award", "order")
    ledger = _rows(LedgerEntry, dimensions, cell, asked).select_related("fund", "award", "order", "person")
    planned_cents, planned_minutes = _sums(commitments, Sum("minutes"))
    actual_cents, actual_minutes = _sums(ledger, Sum("quantity", filter=LABOR_MINUTES))
    if planned_cents is None and actual_cents is None:
        raise NotFound("Nothing was planned or posted under that.")
    figures = Figures(planned_cents or 0, actual_cents or 0, planned_minutes or 0, actual_minutes or 0)
    called = [f"{one.heading} {names_of(one).get(cell[one.code], cell[one.code])}" for one in dimensions]
    return CellBehind(", ".join(called), figures, commitments, ledger)


def _rows(model: type[Row], dimensions: tuple[Dimension, ...], cell: Mapping[str, str], asked: Asked) -> QuerySet[Row]:
    where = [_where(model, one, cell[one.code], asked.basis) for one in dimensions]
    return model._default_manager.filter(*where, **rows_asked(model, asked)).order_by("work_date", "id")


def _where(model: type[CostRow], dimension: Dimension, key: str, basis: str) -> Q:
    """The key as the columns hold it."""
    if dimension.code == "patch":
        return _of_patch(key)
    if dimension.code == "person_type" and model is Commitment:
        return Q() if key == "" else Q(pk__isnull=True)
    if dimension.code == "month":
        return _of_month(key, basis)
    if dimension.code in {"fund", "award"}:
        return Q(**{f"{dimension.code}__code": key}) if key else Q(**{f"{dimension.code}__isnull": True})
    if dimension.code == "order":
        return _of_order(key)
    return Q(**{dimension.fields[0]: key})


def _of_patch(key: str) -> Q:
    """Codes may hold blanks: every place where the key can be parted."""
    if not key:
        return Q(patch_code="")
    where = Q(pk__isnull=True)
    for place, sign in enumerate(key):
        if sign == " " and key[place + 1 :]:
            where |= Q(site_code=key[:place], patch_code=key[place + 1 :])
    return where


def _of_month(key: str, basis: str) -> Q:
    try:
        month = month_read(key)
    except ValueError:
        raise NotFound("There is no such month.") from None
    if basis == "posted":
        return Q(posting_month=month)
    return Q(work_date__gte=month, work_date__lt=month_after(month))


def _of_order(key: str) -> Q:
    if not key:
        return Q(order_number__isnull=True)
    if not (key.isascii() and key.isdecimal()) or len(key) > ORDER_NUMBER_DIGITS:
        raise NotFound("There is no such work order.")
    return Q(order_number=int(key))


def _sums(rows: QuerySet[Any], minutes: Any) -> tuple[int | None, int | None]:
    summed = rows.order_by().aggregate(cents=Sum("amount_cents"), minutes=minutes)
    return summed["cents"], summed["minutes"]
