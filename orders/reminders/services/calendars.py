"""The feed of a person's calendar: its secret address, and the entries behind it."""

import hashlib
import secrets
from collections.abc import Sequence
from typing import Any

from orders.common.changes import change_record
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.reminders.convert.calendars import Entry, calendar_entries
from orders.reminders.convert.facts import since
from orders.reminders.models import CalendarFeed, CalendarItem
from orders.reminders.selectors import feed_users

SECRET_BYTES = 32


def secret_hash(secret: str) -> str:
    """A random secret of 256 bits cannot be guessed from its plain hash."""
    return hashlib.sha256(secret.encode()).hexdigest()


@writing()
def calendar_feed_make(*, user: User, stamp: Stamp) -> str:
    """A new secret, shown this once; the one before no longer opens anything."""
    calendar_feed_revoke(user=user, stamp=stamp)
    secret = secrets.token_urlsafe(SECRET_BYTES)
    feed = CalendarFeed.objects.create(user=user, secret_hash=secret_hash(secret), made_at=stamp.at)
    change_record(stamp=stamp, verb="calendar_feed_make", entity=feed, after={"user": str(user.public_id)})
    calendars_refresh(users=[user], stamp=stamp)
    return secret


@writing()
def calendar_feed_revoke(*, user: User, stamp: Stamp) -> bool:
    """Close the address. False where none was open."""
    feed = CalendarFeed.objects.filter(user=user, revoked_at__isnull=True).first()
    if feed is None:
        return False
    CalendarFeed.objects.filter(pk=feed.pk).update(revoked_at=stamp.at)
    change_record(stamp=stamp, verb="calendar_feed_revoke", entity=feed, after={"user": str(user.public_id)})
    return True


def calendars_refresh(*, users: Sequence[User] | None = None, stamp: Stamp) -> int:
    """Bring the entries of all who have an open address up to date; returns how many changed.

    What is stale is looked for without a lock, and once more under it if there is any.
    """
    asked = feed_users() if users is None else users
    if not asked or not _stale(asked, stamp):
        return 0
    with writing():
        stale = _stale(asked, stamp)
        for row, entry in stale:
            _write(row, entry, stamp)
    return len(stale)


Stale = tuple[CalendarItem, Entry | None]


def _stale(users: Sequence[User], stamp: Stamp) -> list[Stale]:
    """Rows to write with what they are to show; None: the entry fell away."""
    rows = {(row.user_id, row.uid): row for row in CalendarItem.objects.filter(user__in=users).order_by("id")}
    wanted = {
        (user, uid): entry for user, entries in calendar_entries(users, stamp).items() for uid, entry in entries.items()
    }
    found: list[Stale] = []
    for (user, uid), entry in wanted.items():
        row = rows.get((user, uid))
        if row is None:
            found.append((CalendarItem(user_id=user, uid=uid, sequence=0, added_at=stamp.at), entry))
        elif row.cancelled_at is not None or row.fingerprint != entry.fingerprint:
            found.append((row, entry))
    gone = [row for key, row in rows.items() if key not in wanted and row.cancelled_at is None]
    return [*found, *((row, None) for row in gone if row.day >= since(stamp))]


def _write(row: CalendarItem, entry: Entry | None, stamp: Stamp) -> None:
    """A change raises the sequence; a new row begins at 0."""
    values: dict[str, Any] = {"cancelled_at": stamp.at} if entry is None else _shown(entry)
    values |= {"changed_at": stamp.at, "sequence": row.sequence + (row.pk is not None)}
    for name, value in values.items():
        setattr(row, name, value)
    row.save()


def _shown(entry: Entry) -> dict[str, Any]:
    return {
        "fingerprint": entry.fingerprint,
        "day": entry.day,
        "summary": entry.summary[:300],
        "description": entry.description,
        "location": entry.location[:200],
        "has_alarm": entry.has_alarm,
        "cancelled_at": None,
    }
