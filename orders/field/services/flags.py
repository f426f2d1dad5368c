"""Flags: what a person must look at. Raised once for a cause, settled by somebody with a note."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.models.user import COORDINATOR
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew, Person
from orders.field.models import Command, Flag
from orders.sites.models import Site
from orders.workorders.models import WorkOrder


@dataclass(frozen=True)
class About:
    """What a flag is about, where it is known."""

    order: WorkOrder | None = None
    site: Site | None = None
    crew: Crew | None = None
    person: Person | None = None
    command: Command | None = None


NOTHING = About()


@writing()
def flag_raise(
    *,
    key: str,
    kind: str,
    severity: str,
    title: str,
    detail: str = "",
    data: dict[str, Any] | None = None,
    about: About = NOTHING,
    for_roles: Iterable[str] = (COORDINATOR,),
    stamp: Stamp,
) -> Flag:
    """`key` names the cause: the same cause raises one flag, whatever is sent again. `about.person` is told too."""
    order = about.order
    flag, made = Flag.objects.get_or_create(
        key=key,
        defaults={
            "kind": kind,
            "severity": severity,
            "title": title[:200],
            "detail": detail,
            "data": data or {},
            "order": order,
            "site": about.site or (order.site if order else None),
            "crew": about.crew or (order.crew if order else None),
            "person": about.person,
            "command": about.command,
            "for_roles": sorted(for_roles),
            "raised_at": stamp.at,
        },
    )
    if made:
        told = {"kind": kind, "severity": severity, "title": flag.title}
        audience = [flag.crew.public_id] if flag.crew else []
        change_record(stamp=stamp, verb="flag_raise", entity=flag, after=told, audience=audience)
    return flag


@writing()
def flag_settle(*, flag: Flag, resolution: str, note: str, stamp: Stamp) -> Flag:
    """Somebody has looked at it and says what came of it."""
    if not note.strip():
        raise Invalid("Say what came of it.", [FieldError("note", "is required", code="required")])
    if flag.state != "open":
        raise WrongState("This was settled already.")
    before = version_bump(
        flag,
        expected=None,
        state="settled",
        settled_at=stamp.at,
        settled_by=stamp.by,
        resolution=resolution,
        note=note.strip()[:300],
    )
    after = {"state": "settled", "resolution": resolution, "note": flag.note}
    change_record(stamp=stamp, verb="flag_settle", entity=flag, before={"state": before["state"]}, after=after)
    return flag


def flag_wait(*, flag: Flag, waits_for: list[str]) -> None:
    """What its command still waits for; nothing, where another reason stands in its way now."""
    flag.data = {**flag.data, "waits_for": waits_for}
    flag.save(update_fields=["data"])
