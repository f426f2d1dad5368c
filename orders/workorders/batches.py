"""What became of a mix: on a day, what there was of it is applied, carried over or disposed of."""

from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet, Sum

from orders.workorders.models import Application, MixBatch, MixDayEnd

# Our own figures (invented): what reading a sight gauge and a measuring cup may well be off by.
SLACK_SHARE = 0.02
SLACK_UL = 50_000


@dataclass(frozen=True)
class Balance:
    """One batch on one day, microliters of the mix."""

    there_ul: int
    applied_ul: int
    carried_over_ul: int
    disposed_ul: int

    @property
    def difference_ul(self) -> int:
        """Above 0: some of it is not accounted for. Below 0: more is told than there was."""
        return self.there_ul - self.applied_ul - self.carried_over_ul - self.disposed_ul

    @property
    def is_off(self) -> bool:
        return abs(self.difference_ul) > max(SLACK_UL, SLACK_SHARE * self.there_ul)


def applications_standing(batch: MixBatch) -> QuerySet[Application]:
    return batch.applications.filter(replaced_by__isnull=True).order_by("started_at", "id")


def day_ends_standing(batch: MixBatch) -> QuerySet[MixDayEnd]:
    return batch.day_ends.filter(replaced_by__isnull=True).order_by("work_date", "id")


def balance(batch: MixBatch, day: date) -> Balance:
    """By what stands: corrected uses and day ends do not count. On a later day, what was carried over is there."""
    ends = day_ends_standing(batch)
    before = ends.filter(work_date__lt=day).last()
    ended = ends.filter(work_date=day).aggregate(carried=Sum("carried_over_ul"), disposed=Sum("disposed_ul"))
    applied = applications_standing(batch).filter(work_date=day).aggregate(volume=Sum("volume_ul"))
    return Balance(
        there_ul=batch.volume_ul if before is None else before.carried_over_ul,
        applied_ul=int(applied["volume"] or 0),
        carried_over_ul=int(ended["carried"] or 0),
        disposed_ul=int(ended["disposed"] or 0),
    )
