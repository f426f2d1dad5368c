"""When people may enter treated ground again, and when its signs go up and come down.

Sources: signs not earlier than 24 hours before the application, and removed or covered within three days after the
restricted-entry interval ends: Worker Protection Standard, 40 CFR part 170, as a guide of Washington State University
(CPG) tells. That the interval counts from the end of the application: from memory of the same standard. Elsewhere
(parks, preserves) the label's own words govern. The label on the container decides.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

SIGN_UP_BEFORE = timedelta(hours=24)
SIGN_DOWN_AFTER = timedelta(days=3)


@dataclass(frozen=True)
class Entry:
    """`opens_at`: nobody enters before, but for what the standard allows. Signs stand until then at least."""

    opens_at: datetime
    sign_up_from: datetime
    sign_down_by: datetime


def entry_after(started_at: datetime, ended_at: datetime, restricted_hours: float) -> Entry:
    """By a restricted-entry interval in hours; instants need their offsets, and keep them."""
    if started_at.tzinfo is None or ended_at.tzinfo is None:
        raise ValueError("an instant needs its offset")
    if ended_at < started_at:
        raise ValueError("the application ends before it starts")
    if restricted_hours < 0:
        raise ValueError("the interval is 0 hours or more")
    opens_at = ended_at + timedelta(hours=restricted_hours)
    return Entry(opens_at, started_at - SIGN_UP_BEFORE, opens_at + SIGN_DOWN_AFTER)
