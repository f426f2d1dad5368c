"""What the terminal tells of the field, as lines of text."""

from collections.abc import Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

from django.conf import settings

from orders.commands.export import Imported
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.table import table_lines
from orders.field.selectors.checkins import check_ins_of, out_now, overdue
from orders.field.selectors.devices import devices
from orders.field.selectors.flags import flags_of

NONE = "none"


def _clock(moment: datetime | None, time_zone: str = "") -> str:
    zone = ZoneInfo(time_zone or settings.PROGRAM_TIME_ZONE)
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}" if moment else NONE


def imported_words(read: Imported) -> str:
    """What became of a file of unsent work."""
    states = ", ".join(f"{count} {state}" for state, count in read.states.items()) or NONE
    photos = f"{read.photos_whole} of {read.photos} photos whole"
    return f"{read.device}: {read.commands} messages, {read.known} known before. {states.capitalize()}; {photos}."


def out_lines(actor: User, at: datetime) -> Iterator[str]:
    """Who is outside, the late ones first."""
    rows = check_ins_of(actor, on=Stamp(by=actor, at=at).local_date(settings.PROGRAM_TIME_ZONE))
    late = set(overdue(rows, at=at).values_list("pk", flat=True))
    found = sorted(out_now(rows), key=lambda row: row.pk not in late)
    if not found:
        yield "Nobody is out."
        return
    cells = [
        (
            row.crew.name,
            row.site.name,
            _clock(row.until, row.site.time_zone),
            "OVERDUE" if row.pk in late else "",
            row.phone,
            ", ".join(one.person.name for one in row.people.all()),
        )
        for row in found
    ]
    yield from table_lines(("crew", "site", "back by", "", "phone", "people"), cells)


def flag_lines(actor: User, at: datetime, *, settled: bool = False) -> Iterator[str]:
    """Flags that are open, or those that were settled; the newest first."""
    on = Stamp(by=actor, at=at).local_date(settings.PROGRAM_TIME_ZONE)
    rows = list(flags_of(actor, on=on).filter(state="settled" if settled else "open"))
    if not rows:
        yield "No flag is settled." if settled else "No flag is open."
        return
    cells = [(flag.title, flag.severity, flag.kind, _clock(flag.raised_at)) for flag in rows]
    yield from table_lines(("flag", "how pressing", "kind", "raised"), cells)


def tablet_lines(at: datetime) -> Iterator[str]:
    """All tablets, with what each last said of itself."""
    today = at.astimezone(ZoneInfo(settings.PROGRAM_TIME_ZONE)).date()
    cells = []
    for device in devices():
        people = ", ".join(on.user.username for on in device.users_now)  # type: ignore[attr-defined]  # a prefetch
        state = "revoked" if device.revoked_at else "expired" if device.expires_on < today else "in use"
        contact = _clock(device.last_contact_at)
        cells.append((device.name, state, people or NONE, contact, str(device.waiting_told), str(device.public_id)))
    if not cells:
        yield "No tablet is known."
        return
    yield from table_lines(("tablet", "state", "people", "last contact", "waiting", "id"), cells)
