"""Help: words and keys, and each role's guide, with and without a season."""

from collections.abc import Callable

from orders.desk.guide.guides import GUIDES
from tests import build


def _guide(code: str) -> Callable[[], str]:
    def address() -> str:
        build.SeasonFactory(name="Winter 2027")
        return f"/help/{code}/"

    return address


STATES: dict[str, tuple[Callable[[], str], tuple[str, ...]]] = {
    "help": (lambda: "/help/", ("coordinator",)),
    "guide-no-season": (lambda: "/help/coordinator/", ("finance",)),
    **{f"guide-{guide.code}": (_guide(guide.code), (guide.role,)) for guide in GUIDES},
}
