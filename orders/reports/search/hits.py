"""What a search finds, and how rows are asked for it: every word of the question stands in one of the row's fields."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import reduce
from operator import and_, or_
from typing import Any
from uuid import UUID

from django.db.models import Case, IntegerField, Q, QuerySet, Value, When

from orders.common.models import User

MOST_WORDS = 6


@dataclass(frozen=True)
class Hit:
    """A row as it is named in a list; `key` is its public id."""

    words: str
    about: str
    key: UUID


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of thing: `fields` are searched, the first of them is what it is known by; `page` is the name of the
    address that opens a hit."""

    code: str
    words: str
    page: str
    roles: frozenset[str]
    fields: tuple[str, ...]
    rows: Callable[[User, date], QuerySet[Any]]
    hit: Callable[[Any], Hit]

    def found(self, actor: User, question: str, on: date) -> QuerySet[Any]:
        """The best first: known by exactly this, then beginning with it, then the rest in the usual order."""
        known_by = self.fields[0]
        rank = Case(
            When(**{f"{known_by}__iexact": question}, then=Value(0)),
            When(**{f"{known_by}__istartswith": question}, then=Value(1)),
            default=Value(2),
            output_field=IntegerField(),
        )
        rows = self.rows(actor, on).filter(holds(question, self.fields)).annotate(found_rank=rank)
        ranked: QuerySet[Any] = rows.order_by("found_rank", *rows.query.order_by)
        return ranked


def holds(question: str, fields: Sequence[str]) -> Q:
    words = question.split()[:MOST_WORDS]
    return reduce(and_, (reduce(or_, (Q(**{f"{field}__icontains": word}) for field in fields)) for word in words))
