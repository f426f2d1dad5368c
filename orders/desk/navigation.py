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
    Entry("My effort", "own-effort", EVERY_ROLE),
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
