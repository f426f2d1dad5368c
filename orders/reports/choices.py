"""What each filter of a report may be set to, for a form: the value that the address says, and its words."""

from collections.abc import Callable, Iterable

from orders.costs.models import ACCOUNTS, BOOKS, CATEGORIES, Award
from orders.costs.selectors import funds
from orders.crews.models import Crew
from orders.estimates.models import Method
from orders.planning.selectors import seasons
from orders.sites.models import Site

Choices = list[tuple[str, str]]

LISTS: dict[str, tuple[str, str, Callable[[], Iterable[tuple[str, str]]]]] = {
    "season": ("Season", "All seasons", lambda: [(str(row.public_id), row.name) for row in seasons()]),
    "fund": ("Fund", "All funds", lambda: [(row.code, row.name) for row in funds()]),
    "award": ("Award", "All awards", lambda: Award.objects.order_by("code").values_list("code", "name")),
    "site": ("Site", "All sites", lambda: Site.objects.order_by("code").values_list("code", "name")),
    "method": ("Method", "All methods", lambda: Method.objects.order_by("code").values_list("code", "name")),
    "crew": ("Crew", "All crews", lambda: [(name, name) for name in crews_named()]),
    "category": ("Category", "All categories", lambda: CATEGORIES),
    "account": ("Account", "All accounts", lambda: ACCOUNTS),
    "book": ("Book", "All books", lambda: BOOKS),
    "basis": ("Months are of", "Posting", lambda: [("worked", "The work")]),
}


def crews_named() -> Iterable[str]:
    return Crew.objects.order_by("name").values_list("name", flat=True).distinct()


def choices_of(name: str, unsaid: str = "") -> tuple[str, Choices]:
    """The label of a filter, and what it may be set to, with everything first, or what is meant where none is said."""
    label, everything, listed = LISTS[name]
    return label, [("", unsaid or everything), *((str(value), str(words)) for value, words in listed())]
