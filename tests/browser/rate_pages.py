"""The pages of rate books in the states that look different."""

from django.urls import reverse

from orders.estimates.services import rate_edit
from tests.estimates.books import changed_rows, draft, line_of, volunteer_book
from tests.flow.world import World, prescribed, world_build


def _made() -> tuple[World, object]:
    world = world_build()
    volunteer_book(world)
    prescribed(world)
    book = draft(world, changed_rows(1.4))
    line = line_of(book, method="hand-pull", step="search")
    values = {"value": "6.5", "source": "invented; after a look at three closed orders"}
    rate_edit(book=book, line=line, values=values, expected=book.version, stamp=world.stamp())
    return world, book


def _of(name: str, *more: object) -> str:
    _, book = _made()
    return reverse(name, args=[book.public_id, *more])  # type: ignore[attr-defined]  # a rate book


def books() -> str:
    _made()
    return reverse("rate-books")


def draft_shown() -> str:
    return _of("rate-book") + "?method=hand-pull"


def row() -> str:
    return _of("rate-row", 2)


def difference() -> str:
    return _of("rate-book-difference")


def effect() -> str:
    return _of("rate-book-effect")


def changes() -> str:
    return _of("rate-book-changes")
