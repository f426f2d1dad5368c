"""Which pages the head links, and for whom. A test holds that no page opens wider than the API."""

from dataclasses import dataclass

from django.urls import reverse

from orders.common.errors import RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD, FINANCE, PESTICIDE_SUPERVISOR

EVERY_ROLE = frozenset({COORDINATOR, CREW_LEAD, PESTICIDE_SUPERVISOR, FINANCE, ADMINISTRATOR})
OFFICE = EVERY_ROLE - {CREW_LEAD}
DESK = frozenset({COORDINATOR, ADMINISTRATOR})
SAFETY = DESK | {PESTICIDE_SUPERVISOR}
GROUND = SAFETY | {CREW_LEAD}
MONEY = frozenset({FINANCE, ADMINISTRATOR})


@dataclass(frozen=True)
class Entry:
    """A link of the head: its words, the name of its address, the roles that open it, and where its other pages are."""

    words: str
    name: str
    roles: frozenset[str]
    also: tuple[str, ...] = ()

    def is_here(self, path: str) -> bool:
        return path.startswith((reverse(self.name), *self.also))


@dataclass(frozen=True)
class Link:
    words: str
    address: str
    is_here: bool


# In the order of the work.
ENTRIES = (
    Entry("Sites", "sites", EVERY_ROLE),
    Entry("Patches", "patches", OFFICE),
    Entry("Estimates", "estimates", OFFICE),
    Entry("Choices", "choices", OFFICE),
    Entry("Seasons", "seasons", OFFICE, also=("/plans/", "/visits/")),
    Entry("Orders", "orders", EVERY_ROLE),
    Entry("Field", "out-now", GROUND, also=("/day-sheets/", "/incidents/")),
    Entry("Records", "records", GROUND),
    Entry("Flags", "flags", GROUND),
    Entry("Tablets", "tablets", DESK),
    Entry("Reminders", "reminders", EVERY_ROLE),
    Entry("Rate books", "rate-books", OFFICE),
    Entry("Calibration", "calibration", OFFICE),
    Entry("Products", "products", EVERY_ROLE),
    Entry("Sprayer and mix", "mixing", EVERY_ROLE),
    Entry("Money", "cost-report", MONEY, also=("/money/",)),
    Entry("Accuracy", "accuracy", OFFICE),
)


def page_opens_to(actor: User, roles: frozenset[str], what: str = "This page") -> None:
    """Refuse whoever has none of the roles, before anything is read."""
    if not actor.has_role(*roles):
        named = sorted(role.replace("_", " ") for role in roles)
        raise RoleMissing(f"{what} is open to these roles: {', '.join(named)}.")


def links(actor: User, path: str) -> list[Link]:
    """What the actor's roles open; `path` is the page that is shown."""
    opened = [entry for entry in ENTRIES if actor.has_role(*entry.roles)]
    return [Link(entry.words, reverse(entry.name), entry.is_here(path)) for entry in opened]
