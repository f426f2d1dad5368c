"""Crews that are not back: an alert once for each hour that they named, an urgent flag, and one mail to the desk.

Nothing here knows quiet hours: somebody may be hurt.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.cache import cache
from django.core.mail import EmailMessage, get_connection

from orders.common.changes import change_record
from orders.common.errors import WrongState
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, PESTICIDE_SUPERVISOR
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import CheckIn, Flag, OverdueAlert
from orders.field.selectors.checkins import alerts_standing, check_ins, overdue
from orders.field.services.flags import About, flag_raise, flag_settle

log = logging.getLogger("fencerow.field")

KIND = "overdue"
TOLD = (COORDINATOR, ADMINISTRATOR, PESTICIDE_SUPERVISOR)
MAILED_TO = (COORDINATOR, ADMINISTRATOR)
# Tunable, our own choice: a claim outlives a slow mail server, and lapses where a worker died with it.
CLAIM = timedelta(minutes=10)
SERVER_SECONDS = 20


@dataclass(frozen=True)
class Watched:
    """What one look came to."""

    raised: int
    ended: int
    mailed: int


def overdue_watch(*, at: datetime, clock: Callable[[], datetime]) -> Watched:
    """One look at who is outside. Never call it inside a transaction: a mail cannot be rolled back."""
    stamp = Stamp(by=None, at=at)
    ended = overdue_flags_end(stamp=stamp)
    raised = overdue_alerts_raise(stamp=stamp)
    return Watched(raised=len(raised), ended=ended, mailed=overdue_alerts_mail(clock=clock))


@writing()
def overdue_alerts_raise(*, stamp: Stamp) -> list[OverdueAlert]:
    """An alert and a flag for each crew that is late, once for the hour that it named."""
    return [alert for late in overdue(check_ins(), at=stamp.at) if (alert := _alert_raise(late, stamp))]


def _alert_raise(late: CheckIn, stamp: Stamp) -> OverdueAlert | None:
    until = late.until  # type: ignore[attr-defined]  # annotated by the selector
    alert, made = OverdueAlert.objects.get_or_create(check_in=late, back_by=until, defaults={"raised_at": stamp.at})
    if not made:
        return None
    flag_raise(
        key=_flag_key(alert),
        kind=KIND,
        severity="urgent",
        title=f"{late.crew} at {late.site.name} is not back",
        detail=f"They meant to be back at {_clock(until, late.site.time_zone)}.",
        data={"check_in": str(late.public_id)},
        about=About(site=late.site, crew=late.crew),
        for_roles=TOLD,
        stamp=stamp,
    )
    return alert


@writing()
def overdue_flags_end(*, stamp: Stamp) -> int:
    """Settle the flags of crews that are out, found, or staying longer."""
    standing = {_flag_key(alert) for alert in alerts_standing()}
    open_flags = Flag.objects.filter(kind=KIND, state="open").exclude(key__in=standing)
    ended = list(open_flags)
    for flag in ended:
        note = "They checked out, named a later hour, or were found safe."
        flag_settle(flag=flag, resolution="ended", note=note, stamp=stamp)
    return len(ended)


@writing()
def overdue_take(*, alert: OverdueAlert, stamp: Stamp) -> OverdueAlert:
    """Somebody at the desk looks for them now; the alert stands until they are found."""
    taken = OverdueAlert.objects.filter(pk=alert.pk, taken_at__isnull=True)
    if taken.update(taken_by=stamp.by, taken_at=stamp.at) != 1:
        raise WrongState("Somebody else has taken this in hand already.")
    alert.taken_by, alert.taken_at = stamp.by, stamp.at
    after = {"check_in": str(alert.check_in.public_id), "taken_by": stamp.by.username if stamp.by else ""}
    change_record(stamp=stamp, verb="overdue_take", entity=alert, after=after)
    return alert


def overdue_alerts_mail(*, clock: Callable[[], datetime]) -> int:
    """Mail what stands and was not mailed, each once. A worker that dies between the mail and the mark lets its claim
    lapse, and the next mails again: twice rather than never, under the same Message-ID."""
    to = _addresses()
    if not to:
        return 0
    waiting = [alert for alert in alerts_standing().filter(mailed_at__isnull=True) if _claim(alert)]
    return sum(_mail(alert, to, clock) for alert in waiting)


def _claim(alert: OverdueAlert) -> bool:
    """A mail that another worker marked since this one read the rows is not sent again."""
    taken = cache.add(_claim_key(alert), 1, timeout=CLAIM.seconds)
    return taken and OverdueAlert.objects.filter(pk=alert.pk, mailed_at__isnull=True).exists()


def _mail(alert: OverdueAlert, to: list[str], clock: Callable[[], datetime]) -> bool:
    message = EmailMessage(
        subject=f"Overdue: {alert.check_in.crew} at {alert.check_in.site.name}",
        body=_words(alert),
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=to,
        headers={
            "Message-ID": f"<fencerow.overdue.{alert.public_id}@{settings.MESSAGE_ID_DOMAIN}>",
            "Auto-Submitted": "auto-generated",
        },
        connection=get_connection(timeout=SERVER_SECONDS),
    )
    try:
        message.send()
    except (OSError, ValueError) as error:  # the server (SMTPException is an OSError), or an address it cannot take
        log.warning("Mail of alert %s was not taken: %s", alert.public_id, type(error).__name__)
        cache.delete(_claim_key(alert))
        return False
    OverdueAlert.objects.filter(pk=alert.pk).update(mailed_at=clock())
    return True


def _words(alert: OverdueAlert) -> str:
    late = alert.check_in
    people = ", ".join(row.person.name for row in late.people.select_related("person"))
    facts = {
        "Crew": late.crew.name,
        "People": people,
        "Site": late.site.name,
        "Meant to be back": _clock(alert.back_by, late.site.time_zone),
        "Phone": late.phone,
        "Their note": late.note,
        "Radio or phone at the site": late.site.radio_or_phone,
        "Way in": late.site.emergency_access or late.site.access_notes,
    }
    told = "\n".join(f"{name}: {value}" for name, value in facts.items() if value)
    return f"{late.crew} has not checked out.\n\n{told}\n\nCall them. Then say on the page Out now what came of it.\n"


def _addresses() -> list[str]:
    people = User.objects.filter(is_active=True, roles__code__in=MAILED_TO).exclude(email="")
    return sorted(set(people.order_by().values_list("email", flat=True)))


def _flag_key(alert: OverdueAlert) -> str:
    return f"overdue:{alert.public_id}"


def _claim_key(alert: OverdueAlert) -> str:
    return f"overdue-mail:{alert.public_id}"


def _clock(moment: datetime, time_zone: str) -> str:
    return f"{moment.astimezone(ZoneInfo(time_zone)):%H:%M on %Y-%m-%d (%Z)}"
