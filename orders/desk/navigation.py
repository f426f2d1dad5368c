"""Which pages the head links, and for whom. A test holds that no page opens wider than the API."""

import re
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
ROW_ID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


@dataclass(frozen=True)
class Entry:
    """A link of the head: its words, the name of its address, the roles that open it, and where its other pages are
    (* stands for the id of a row)."""

    words: str
    name: str
    roles: frozenset[str]
    also: tuple[str, ...] = ()

    def held(self, path: str) -> int:
        """How much of a path is the entry's own: the entry that holds most of it is where the reader is."""
        own, path = (reverse(self.name), *self.also), ROW_ID.sub("*", path)
        return max(
            (len(address) for address in own if path == address or (address != "/" and path.startswith(address))),
            default=0,
        )


@dataclass(frozen=True)
class Group:
    """Pages that one kind of work needs together; the head links the group, and the group that is shown its pages."""

    words: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True)
class Link:
    words: str
    address: str
    is_here: bool


@dataclass(frozen=True)
class GroupLinks:
    """A group as one reader sees it: it opens at the first of its pages that the reader may open."""

    words: str
    address: str
    is_here: bool
    pages: tuple[Link, ...]


# In the order of the work.
GROUPS = (
    Group(
        "Today",
        (
            Entry("Start", "signpost", EVERY_ROLE),
            Entry("Watch", "watch", SAFETY),
            Entry("Field", "out-now", GROUND, also=("/day-sheets/", "/incidents/")),
            Entry("Flags", "flags", GROUND),
            Entry("Reminders", "reminders", EVERY_ROLE),
            Entry("My effort", "own-effort", EVERY_ROLE),
        ),
    ),
    Group(
        "Ground",
        (
            Entry("Map", "map", OFFICE),
            Entry("Patches", "patches", OFFICE),
            Entry("Survey files", "survey-files", OFFICE),
            Entry("Sites", "sites", EVERY_ROLE),
        ),
    ),
    Group(
        "Season",
        (
            Entry("Seasons", "seasons", OFFICE, also=("/plans/",)),
            Entry("Prescribe", "prescribe-now", OFFICE, also=("/seasons/*/prescribe/",)),
            Entry("Choices", "choices", OFFICE),
            Entry("Estimates", "estimates", OFFICE),
        ),
    ),
    Group(
        "Orders",
        (
            Entry("Work orders", "orders", EVERY_ROLE),
            Entry("Board", "board", OFFICE, also=("/seasons/*/board/", "/asked/", "/visits/")),
            Entry("Packets", "packet-bundle", GROUND),
            Entry("Records", "records", GROUND),
            Entry("Sprayer and mix", "mixing", EVERY_ROLE),
        ),
    ),
    Group("Money", (Entry("Money", "cost-report", MONEY, also=("/money/",)),)),
    Group(
        "Rates",
        (
            Entry("Rate books", "rate-books", OFFICE),
            Entry("Calibration", "calibration", OFFICE),
            Entry("Accuracy", "accuracy", OFFICE),
        ),
    ),
    Group(
        "Set up",
        (
            Entry("Set-up guide", "setup", OFFICE),
            Entry(
                "People",
                "setup-people",
                OFFICE,
                also=("/setup/qualifications/", "/setup/qualification-kinds/", "/setup/roles/"),
            ),
            Entry("Crews", "setup-crews", OFFICE),
            Entry("Availability", "setup-absences", OFFICE),
            Entry("Logins", "setup-users", frozenset({ADMINISTRATOR})),
            Entry(
                "Places",
                "setup-sites",
                OFFICE,
                also=("/setup/jurisdictions/", "/setup/checklist/", "/setup/growth-forms/"),
            ),
            Entry("Species", "setup-species", OFFICE),
            Entry("Methods", "setup-methods", OFFICE, also=("/setup/chains/",)),
            Entry("Products", "products", EVERY_ROLE, also=("/setup/products/",)),
            Entry("Mixes and prices", "setup-mixes", EVERY_ROLE, also=("/setup/prices/", "/setup/permits/")),
            Entry("Equipment", "setup-equipment", OFFICE),
            Entry("Tablets", "tablets", DESK),
            Entry("Record rules", "record-rules", GROUND),
            Entry("Field policy", "field-policy", GROUND),
            Entry("Reminder schedule", "reminder-schedule", OFFICE),
        ),
    ),
)
ENTRIES = tuple(entry for group in GROUPS for entry in group.entries)


def page_opens_to(actor: User, roles: frozenset[str], what: str = "This page") -> None:
    """Refuse whoever has none of the roles, before anything is read."""
    if not actor.has_role(*roles):
        named = sorted(role.replace("_", " ") for role in roles)
        raise RoleMissing(f"{what}: only for {', '.join(named)}.")


def links(actor: User, path: str) -> list[GroupLinks]:
    """What the actor's roles open; `path` is the page that is shown."""
    here = max(ENTRIES, key=lambda entry: entry.held(path))
    found = here if here.held(path) else None
    return [shown for group in GROUPS if (shown := _group_links(actor, group, found))]


def _group_links(actor: User, group: Group, here: Entry | None) -> GroupLinks | None:
    opened = [entry for entry in group.entries if actor.has_role(*entry.roles)]
    if not opened:
        return None
    pages = tuple(Link(entry.words, reverse(entry.name), entry is here) for entry in opened)
    return GroupLinks(group.words, pages[0].address, here in group.entries, pages)


@dataclass(frozen=True)
class MoneyGroup:
    """Pages about money that one kind of work needs together: the words of each, and the name of its address."""

    words: str
    pages: tuple[tuple[str, str], ...]


# In the order of the work; a group opens at its first page.
MONEY_GROUPS = (
    MoneyGroup(
        "Reports",
        (
            ("All reports", "reports"),
            ("Planned and actual", "cost-report"),
            ("Saved views", "report-views"),
            ("Mailed reports", "report-schedules"),
            ("Files", "report-exports"),
        ),
    ),
    MoneyGroup("Month end", (("Months", "months"), ("Proofs", "proofs"), ("Outer accounts", "mappings"))),
    MoneyGroup("Funding", (("Funds", "money-funds"), ("Waiting charges", "held-charges"))),
    MoneyGroup(
        "Buying and stock",
        (
            ("Purchase orders", "purchases"),
            ("Bills", "bills"),
            ("Stock", "stock-value"),
            ("Equipment and trips", "equipment-hours"),
        ),
    ),
    MoneyGroup(
        "Pay",
        (
            ("Rates", "pay"),
            ("Rules", "pay-rules"),
            ("Time off", "comp-time"),
            ("Match", "match-rates"),
            ("Try a week", "try-week"),
            ("Overtime", "overtime"),
            ("Payroll", "payroll"),
            ("Effort", "money-effort"),
        ),
    ),
)


def money_links(here: str) -> tuple[list[Link], list[Link]]:
    """The groups of pages about money, and the pages of the group that holds `here`, the name of a page's address."""
    shown = next(group for group in MONEY_GROUPS if here in dict(group.pages).values())
    groups = [Link(group.words, reverse(group.pages[0][1]), group is shown) for group in MONEY_GROUPS]
    return groups, [Link(words, reverse(name), name == here) for words, name in shown.pages]
