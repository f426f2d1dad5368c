"""What was done on patches, by their closed orders."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from orders.workorders.selectors import outcomes_standing


@dataclass(frozen=True)
class WorkDone:
    day: date
    method: str
    percent: int
    order: int
    patch_code: str


def work_done_on(patch_ids: Iterable[int]) -> list[WorkDone]:
    """The standing outcomes, the oldest first; what was not begun is left out."""
    rows = outcomes_standing().filter(prescription__patch__in=list(patch_ids), percent_complete__gt=0)
    told = rows.order_by("close_out__work_date", "id").values_list(
        "close_out__work_date",
        "prescription__method__name",
        "percent_complete",
        "close_out__order__number",
        "prescription__patch__code",
    )
    return [WorkDone(*row) for row in told]
