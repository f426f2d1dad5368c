"""The rows behind one row of a cost report: what was committed and what was posted, down to the cent."""

from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import Case, F, QuerySet, Sum, Value, When
from django.db.models.functions import Concat
from django.db.models.lookups import Exact

from orders.common.errors import FieldError, Invalid, NotFound
from orders.common.models import User
from orders.costs.models import Commitment, CostRow, LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.planning.models import Season
from orders.reports import costs
from orders.reports.costs import CUTS, rows_where

ORDER_NUMBER_DIGITS = 9  # what has more is no order number, and does not fit the column

Row = TypeVar("Row", bound=CostRow)


@dataclass(frozen=True)
class RowsBehind:
    """`row` is summed by the database over the very rows that stand beside it."""

    heading: str
    row: costs.CostRow
    commitments: QuerySet[Commitment]
    ledger: QuerySet[LedgerEntry]


def rows_behind(
    *, actor: User, by: str, key: str, season: Season | None = None, fund: UUID | None = None
) -> RowsBehind:
    """`key` is what the report's row is labeled with."""
    costs_open_to(actor)
    if by not in CUTS:
        raise Invalid("The report cannot be cut that way.", [FieldError("by", f"must be one of {', '.join(CUTS)}")])
    where = rows_where(season, fund)
    commitments = _rows(Commitment, by, key).filter(**where).select_related("fund", "award", "order")
    ledger = _rows(LedgerEntry, by, key).filter(**where).select_related("fund", "award", "order", "person")
    planned_cents, planned_minutes = _sums(commitments, Sum("minutes"))
    actual_cents, actual_minutes = _sums(ledger, Sum(Case(When(category="labor", then=F("quantity")))))
    if planned_cents is None and actual_cents is None:
        raise NotFound("Nothing was planned or posted under that.")
    row = costs.CostRow(key, planned_cents or 0, actual_cents or 0, planned_minutes or 0, actual_minutes or 0)
    return RowsBehind(CUTS[by][1], row, commitments, ledger)


def _rows(model: type[Row], by: str, key: str) -> QuerySet[Row]:
    rows = model._default_manager.order_by("work_date", "id")
    if by == "patch":
        return rows.filter(Exact(Concat("site_code", Value(" "), "patch_code"), key))
    return rows.filter(**{CUTS[by][0]: _value(by, key)})


def _value(by: str, key: str) -> Any:
    """The label as the column holds it."""
    if by == "order":
        if not key.isdecimal() or len(key) > ORDER_NUMBER_DIGITS:
            raise NotFound("There is no such work order.")
        return int(key)
    if by == "month":
        try:
            return date.fromisoformat(f"{key}-01")
        except ValueError:
            raise NotFound("There is no such month.") from None
    return key


def _sums(rows: QuerySet[Row], minutes: Any) -> tuple[int | None, int | None]:
    summed = rows.order_by().aggregate(cents=Sum("amount_cents"), minutes=minutes)
    return summed["cents"], summed["minutes"]
