"""What a method still lacks before it can be estimated and ordered, told in words."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from estimating.inputs import GROWTH_FORMS
from orders.estimates.models import Method, Rate, RateBook

RatedForms = dict[int, dict[str, set[str]]]


@dataclass(frozen=True)
class BookRates:
    """What one book in force holds of a method: its rows of rates, and the growth forms that it has no rate for."""

    book: RateBook
    rows: int
    missing: tuple[str, ...]


def books_in_force() -> list[RateBook]:
    return list(RateBook.objects.filter(state="in_force").order_by("crew_kind"))


def methods_rated(books: list[RateBook]) -> Mapping[int, set[str]]:
    """Codes of the methods that each book has rates for, by the book's key."""
    found: dict[int, set[str]] = defaultdict(set)
    for book_id, code in Rate.objects.filter(book__in=books, kind="rate").values_list("book_id", "method").distinct():
        found[book_id].add(code)
    return found


def book_rates(method: Method, books: list[RateBook]) -> list[BookRates]:
    """A step that names no growth form is done whatever grows; the forms that a book treats are those that its rates
    name, or all where they name none."""
    told: dict[int, list[str]] = defaultdict(list)
    rows = Rate.objects.filter(book__in=books, kind="rate", method=method.code)
    for book_id, form in rows.values_list("book_id", "growth_form"):
        told[book_id].append(form)
    wanted = [form for form in GROWTH_FORMS if form in str(method.facts.get("growth_forms", "")).split("|")]
    return [BookRates(book, len(told[book.pk]), _missing(wanted, told[book.pk])) for book in books]


def _missing(wanted: list[str], told: list[str]) -> tuple[str, ...]:
    named = {form for form in told if form}
    if not told:
        return tuple(wanted)
    return tuple(form for form in wanted if named and form not in named)


def method_gaps(method: Method, rates: list[BookRates]) -> Iterator[str]:
    """Needs the method with its mix, and the mix with its products' uses."""
    if not any(found.rows for found in rates):
        yield "No rate book in force has rates for it: it is not estimated, and so it is not offered."
    if not method.uses_herbicide:
        return
    if method.default_mix is None:
        yield "It uses herbicide and has no mix: it is not estimated, and no order with it can be issued."
        return
    for part in method.default_mix.parts.all():
        if part.product.is_herbicide and method.code not in part.product.uses:
            yield f"The label of {part.product.name}, as it is kept here, does not allow it: it is refused."
