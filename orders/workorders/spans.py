"""Time that was measured or typed outside. A correction replaces the span that it names; nothing is changed."""

from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.models import TimedSpan


@writing()
def time_span_add(*, span: TimedSpan, stamp: Stamp) -> TimedSpan:
    """Minutes of one person; 0 only where they strike the span that is replaced."""
    if known := fact_known(span):
        return known
    found = Findings()
    struck = span.replaces
    found.need(span.minutes > 0 or struck is not None, "minutes", "Must be above 0.")
    in_order = span.started_at is None or span.ended_at is None or span.ended_at >= span.started_at
    found.need(in_order, "ended_at", "Is before the start.")
    found.refuse("The time cannot be read.")
    if struck is not None:
        _correction_check(span, struck)
    return fact_save(span, stamp=stamp)


def _correction_check(span: TimedSpan, struck: TimedSpan) -> None:
    if span.person_id != struck.person_id:
        raise Invalid("A correction is of the same person's time.", [FieldError("replaces", "is somebody else's time")])
    if TimedSpan.objects.filter(replaces=struck).exists():
        raise WrongState(f"{struck} was corrected already.")
