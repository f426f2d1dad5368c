"""Flags about what a command says: the command, its order and its sender's time come along."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from orders.commands.heard import Heard
from orders.common.models.user import COORDINATOR, PESTICIDE_SUPERVISOR
from orders.common.stamp import Stamp
from orders.crews.models import Crew, Person
from orders.field.models import Flag
from orders.field.services.flags import About, flag_raise, flag_settle
from orders.sites.models import Site
from orders.workorders.models import WorkOrder

OFFICE = (COORDINATOR,)
CHEMICALS = (COORDINATOR, PESTICIDE_SUPERVISOR)
NO_MORE = "With what has come since, this does not hold any more."


@dataclass(frozen=True)
class Raiser:
    """What all flags of one command share."""

    heard: Heard
    order: WorkOrder | None = None
    site: Site | None = None
    crew: Crew | None = None

    def note(self, key: str, kind: str, title: str, **more: Any) -> Flag:
        return self._raise("note", key, kind, title, **more)

    def settle(self, key: str, kind: str, title: str, **more: Any) -> Flag:
        return self._raise("settle", key, kind, title, **more)

    def no_more(self, prefix: str, kind: str, *, but: str = "") -> None:
        """What was raised before, under keys that begin so, does not hold any more; `but` is one that does."""
        rows = Flag.objects.filter(kind=kind, state="open", key__startswith=f"{kind}:{prefix}")
        stamp = Stamp(by=None, at=self.heard.command.received_at)
        for flag in rows.exclude(key=f"{kind}:{but}"[:120]):
            flag_settle(flag=flag, resolution="ended", note=NO_MORE, stamp=stamp)

    def urgent(self, key: str, kind: str, title: str, **more: Any) -> Flag:
        return self._raise("urgent", key, kind, title, **more)

    def _raise(
        self,
        severity: str,
        key: str,
        kind: str,
        title: str,
        *,
        detail: str = "",
        data: dict[str, Any] | None = None,
        person: Person | None = None,
        roles: Iterable[str] = OFFICE,
    ) -> Flag:
        order = self.order or self.heard.order
        about = About(order=order, site=self.site, crew=self.crew, person=person, command=self.heard.command)
        return flag_raise(
            key=f"{kind}:{key}"[:120],
            kind=kind,
            severity=severity,
            title=title,
            detail=detail,
            data=data,
            about=about,
            for_roles=roles,
            stamp=self.heard.stamp,
        )
