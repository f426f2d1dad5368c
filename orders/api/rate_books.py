"""Rate books: dated versions of all rates, allowances and spreads."""

import csv
import io
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.fields import Day, Text, Whole
from orders.api.filters import AnyOf, Filters, OfWord
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Body, Out, VersionedRow
from orders.estimates.models import RateBook
from orders.estimates.selectors import rate_book_get, rate_books
from orders.estimates.services import rate_book_draft, rate_book_put_in_force

CSV_CHARACTERS = 1_000_000


class RateBookRow(VersionedRow):
    name = serializers.CharField()
    edition = serializers.IntegerField()
    state = serializers.ChoiceField(RateBook.STATES)
    in_force_from = serializers.DateField(allow_null=True)
    standard_crew = serializers.DictField(child=serializers.IntegerField())
    skill_roles = serializers.DictField(child=serializers.CharField())
    notes = serializers.CharField()


class RateOut(Out):
    line = serializers.IntegerField()
    kind = serializers.CharField()
    method = serializers.CharField()
    step = serializers.CharField()
    growth_form = serializers.CharField()
    driver = serializers.CharField()
    from_value = serializers.CharField()
    value = serializers.CharField()
    unit = serializers.CharField()
    cover_exponent = serializers.CharField()
    skill = serializers.CharField()
    shared_spread = serializers.CharField()
    own_spread = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class RateBookOut(RateBookRow):
    rates = RateOut(many=True)


class RateBookIn(Body):
    name = Text(max_length=80)
    csv = Text(max_length=CSV_CHARACTERS, help_text="The rates, with the names of the columns in the first row.")
    standard_crew = serializers.DictField(child=Whole(max_value=100), help_text="People by labor role.")
    skill_roles = serializers.DictField(child=Text(max_length=50), help_text="Labor role by skill.")
    notes = Text(max_length=4000, allow_blank=True, default="")


class InForce(Body):
    from_day = Day()


class RateBookFilter(Filters):
    state = AnyOf(words=RateBook.STATES)
    name = OfWord()


class RateBooks(ListEndpoint):
    endpoint = "rate-books"
    row = RateBookRow
    filters = RateBookFilter
    sorts = {"edition": "edition", "name": "name"}
    usual_sort = "-edition"

    def rows(self) -> QuerySet[RateBook]:
        """Rate books, without their rates."""
        return rate_books()

    @writes(RateBookOut, body=RateBookIn, located_at="rate-book")
    def post(self) -> RateBook:
        """Make a draft from CSV. A row that cannot be used is named, and nothing is kept."""
        rows = csv_rows(self.body.pop("csv"))
        return rate_book_draft(rows=rows, stamp=self.stamp(), **self.body)


class RateBookOne(Endpoint):
    endpoint = "rate-book"

    @shows(RateBookOut)
    def get(self, book_id: Any) -> RateBook:
        """One rate book with every rate."""
        return rate_book_get(book_id)


class RateBookPutInForce(Endpoint):
    endpoint = "rate-book-put-in-force"

    @writes(RateBookRow, body=InForce, status=200)
    def post(self, book_id: Any) -> RateBook:
        """Put a draft in force; the book of the same name that was in force retires."""
        return rate_book_put_in_force(book=rate_book_get(book_id), stamp=self.stamp(), **self.body)


def csv_rows(text: str) -> list[dict[str, str]]:
    """The rows by their columns' names; a cell that is missing is empty."""
    rows = csv.DictReader(io.StringIO(text, newline=""), restval="", restkey="more")
    return [{name: value for name, value in row.items() if isinstance(value, str)} for row in rows]
