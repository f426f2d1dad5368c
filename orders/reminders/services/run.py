"""The whole of a reminder run: deadlines computed, notices made, mail handed over."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.db import transaction

from orders.common.stamp import Stamp
from orders.reminders.models import Deadline, Notice
from orders.reminders.services.calendars import calendars_refresh
from orders.reminders.services.deadlines import Refreshed, deadlines_refresh
from orders.reminders.services.mail import HandedOver, notices_hand_over
from orders.reminders.services.notices import notices_make
from orders.reminders.services.owed import OwedRefreshed, owed_refresh
from orders.sites.models import Site

# From this many days before the new year its deadlines are computed too, so that a deadline in January has its steps.
# Tunable, our own choice.
NEXT_YEAR_DAYS = 60


@dataclass(frozen=True)
class Reminded:
    """What a run did."""

    refreshed: tuple[Refreshed, ...]
    owed: OwedRefreshed
    notices: tuple[Notice, ...]
    handed_over: HandedOver


def reminders_run(*, at: datetime, clock: Callable[[], datetime] | None = None) -> Reminded:
    """Refresh, make, hand over, as of an instant. `clock` times the mail alone, which takes a while; a run at a chosen
    instant goes without it."""
    done = _bring_up_to_date(at)
    calendars_refresh(stamp=Stamp(by=None, at=at))
    return replace(done, handed_over=notices_hand_over(clock=clock or (lambda: at)))


def reminders_preview(*, at: datetime) -> Reminded:
    """What a run at that instant would write; it is undone, and nothing is mailed."""
    with transaction.atomic():
        done = _bring_up_to_date(at)
        transaction.set_rollback(True)
    return done


def _bring_up_to_date(at: datetime) -> Reminded:
    """Without the mail."""
    stamp = Stamp(by=None, at=at)
    refreshed = tuple(deadlines_refresh(year=year, stamp=stamp) for year in _years(at))
    owed = owed_refresh(stamp=stamp)
    return Reminded(refreshed, owed, tuple(notices_make(at=at, stamp=stamp)), HandedOver())


def _years(at: datetime) -> list[int]:
    """The current year by the clock of each site, the next one where it is near, and the one before if it has rows:
    close-outs come late and are amended."""
    found: set[int] = set()
    for zone in Site.objects.order_by().values_list("time_zone", flat=True).distinct():
        today = at.astimezone(ZoneInfo(zone)).date()
        found |= {today.year, (today + timedelta(days=NEXT_YEAR_DAYS)).year}
        if Deadline.objects.filter(kind="seed", year=today.year - 1).exists():
            found.add(today.year - 1)
    return sorted(found)
