"""The search itself: one query a kind, and none for kinds that the reader may not open."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.reports.search.hits import Hit, Kind
from orders.reports.search.kinds import KINDS

MOST_CHARACTERS = 100


@dataclass(frozen=True)
class Found:
    """What one kind has of it; `more`: there are others than those listed."""

    kind: Kind
    hits: Sequence[Hit]
    more: bool


def searched(*, actor: User, question: str, on: date, most: int, kind: str = "") -> list[Found]:
    """Groups that have a hit, in the order of the kinds; `kind` asks for one of them alone."""
    asked = " ".join(question.replace("\x00", "").split())
    if len(asked) > MOST_CHARACTERS:
        raise Invalid("The question is too long.", [FieldError("q", f"at most {MOST_CHARACTERS} characters")])
    if not asked:
        return []
    opened = [each for each in KINDS if actor.has_role(*each.roles) and kind in ("", each.code)]
    return [found for each in opened if (found := _found(each, actor, asked, on, most)).hits]


def _found(kind: Kind, actor: User, question: str, on: date, most: int) -> Found:
    rows = list(kind.found(actor, question, on)[: most + 1])
    return Found(kind, [kind.hit(row) for row in rows[:most]], len(rows) > most)
