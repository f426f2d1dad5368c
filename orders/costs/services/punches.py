"""Punches as payroll rounds them, and how that averaged out.

29 CFR 785.48(b) accepts rounding to the nearest 5 minutes, tenth or quarter of an hour where it averages out over
time, so that people are paid for all that they worked. True times stay in the spans; the day sheet's minutes are what
is paid.
"""

from datetime import date
from typing import Any

from django.db.models import F

from estimating.punches import elapsed_minutes, punch_rounded
from orders.common.changes import changes_record
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import PaidPunch
from orders.costs.paid_time import spans_standing
from orders.costs.pay_selectors import pay_policy
from orders.workorders.models import TimedSpan


@writing()
def punches_round(*, first: date, last: date, stamp: Stamp) -> list[PaidPunch]:
    """A row for each standing span of these days that has both moments, by the policy of its day. What is there already
    stays; a span that was corrected since gets its own."""
    spans = spans_standing(first, last).filter(ended_at__gt=F("started_at"))
    known = set(PaidPunch.objects.filter(span__in=spans).values_list("span_id", "rule_minutes"))
    rules = {day: pay_policy(day).punch_minutes for day in {span.work_date for span in spans}}
    rows = [punch_of(span, rules[span.work_date]) for span in spans if (span.pk, rules[span.work_date]) not in known]
    PaidPunch.objects.bulk_create(rows)
    changes_record(stamp=stamp, verb="punches_round", written=[(row, _told(row)) for row in rows])
    return rows


def punch_of(span: TimedSpan, rule_minutes: int) -> PaidPunch:
    """Elapsed minutes, so that a night when the clocks change counts as long as it was."""
    start, end = span.started_at, span.ended_at
    assert start is not None  # the caller takes only spans that have both
    assert end is not None
    rounded = [punch_rounded(moment, rule_minutes) for moment in (start, end)]
    return PaidPunch(
        span=span,
        rule_minutes=rule_minutes,
        rounded_start=rounded[0],
        rounded_end=rounded[1],
        true_minutes=elapsed_minutes(start, end),
        rounded_minutes=elapsed_minutes(rounded[0], rounded[1]),
    )


def _told(row: PaidPunch) -> dict[str, Any]:
    return {"rule_minutes": row.rule_minutes, "true": row.true_minutes, "rounded": row.rounded_minutes}
