"""A check, and the list of all."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from django.db.models import QuerySet

from orders.costs.models import LedgerEntry

Find = Callable[[], Iterator[str]]


@dataclass(frozen=True)
class Check:
    code: str
    words: str
    find: Find


CHECKS: list[Check] = []


def check(code: str, words: str) -> Callable[[Find], Find]:
    def add(find: Find) -> Find:
        CHECKS.append(Check(code, words, find))
        return find

    return add


def standing(**where: object) -> QuerySet[LedgerEntry]:
    """Rows that no other takes back."""
    return LedgerEntry.objects.filter(reverses__isnull=True, reversed_by__isnull=True, **where).order_by("id")


def rows_told(rows: QuerySet[LedgerEntry]) -> Iterator[str]:
    for key, posting_key in rows.order_by("id").values_list("id", "posting_key").iterator():
        yield f"row {key}: {posting_key}"
