"""Rate books: dated versions of all rates, allowances and spreads, drafted, changed while drafts, put in force."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from orders import flow
from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfWord
from orders.api.operations import Queries, edits, reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.renderers import CsvRenderer
from orders.api.shapes import Out, VersionedRow
from orders.bodies.base import Body, Nothing
from orders.bodies.fields import Choice, Day, Text, Whole
from orders.common.errors import FieldError, Invalid
from orders.estimates.convert import rate_rows
from orders.estimates.models import RateBook
from orders.estimates.rate_csv import rates_csv, rates_from_csv
from orders.estimates.selectors import rate_book_get, rate_books
from orders.estimates.services import (
    rate_add,
    rate_book_copy,
    rate_book_discard,
    rate_book_draft,
    rate_book_edit,
    rate_book_retire,
    rate_edit,
    rate_remove,
    rates_import,
)

CSV_CHARACTERS = 1_000_000


class RateBookRow(VersionedRow):
    name = serializers.CharField()
    edition = serializers.IntegerField()
    crew_kind = serializers.ChoiceField(RateBook.CREW_KINDS)
    state = serializers.ChoiceField(RateBook.STATES)
    in_force_from = serializers.DateField(allow_null=True)
    in_force_until = serializers.DateField(allow_null=True, help_text="Last day on which a retired book held.")
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


def _csv() -> Text:
    return Text(max_length=CSV_CHARACTERS, help_text="The rates, with the names of the columns in the first row.")


def _crew(**more: Any) -> serializers.DictField:
    return serializers.DictField(child=Whole(max_value=100), help_text="People by labor role.", **more)


def _roles(**more: Any) -> serializers.DictField:
    return serializers.DictField(child=Text(max_length=50), help_text="Labor role by skill.", **more)


class RateBookIn(Body):
    name = Text(max_length=80)
    crew_kind = Choice(RateBook.CREW_KINDS, default="staff")
    csv = _csv()
    standard_crew = _crew()
    skill_roles = _roles()
    notes = Text(max_length=4000, allow_blank=True, default="")


class RateBookEdit(Body):
    standard_crew = _crew(required=False)
    skill_roles = _roles(required=False)
    notes = Text(max_length=4000, allow_blank=True, required=False)


class CopyIn(Body):
    name = Text(max_length=80, required=False)
    crew_kind = Choice(RateBook.CREW_KINDS, required=False)


class InForce(Body):
    from_day = Day()


class Retire(Body):
    last_day = Day()


class CsvIn(Body):
    csv = _csv()


class RateColumns(Body):
    """Columns of a rate as text; what is not named stays as it is, or empty in a new row."""

    kind = Text(max_length=20, required=False)
    method = Text(max_length=20, allow_blank=True, required=False)
    step = Text(max_length=40, allow_blank=True, required=False)
    growth_form = Text(max_length=20, allow_blank=True, required=False)
    driver = Text(max_length=40, allow_blank=True, required=False)
    from_value = Text(max_length=20, allow_blank=True, required=False)
    value = Text(max_length=20, required=False)
    unit = Text(max_length=40, allow_blank=True, required=False)
    cover_exponent = Text(max_length=10, allow_blank=True, required=False)
    skill = Text(max_length=20, allow_blank=True, required=False)
    shared_spread = Text(max_length=10, allow_blank=True, required=False)
    own_spread = Text(max_length=10, allow_blank=True, required=False)
    source = Text(max_length=300, required=False)  # type: ignore[assignment]  # the metaclass takes it off again


class RateAdd(RateColumns):
    version = Whole(help_text="The version of the book that this builds on.")
    after_line = Whole(required=False, help_text="At the end where it is left out; 0 is the first place.")


class RateEdit(RateColumns):
    line = Whole(min_value=1)


class RateRemove(Body):
    version = Whole(help_text="The version of the book that this builds on.")
    line = Whole(min_value=1)


class RateBookFilter(Filters):
    state = AnyOf(words=RateBook.STATES)
    crew_kind = AnyOf(words=RateBook.CREW_KINDS)
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
        rows = rates_from_csv(self.body.pop("csv"))
        return rate_book_draft(rows=rows, stamp=self.stamp(), **self.body)


class RateBookOne(Endpoint):
    endpoint = "rate-book"

    @shows(RateBookOut)
    def get(self, book_id: Any) -> RateBook:
        """One rate book with every rate."""
        return rate_book_get(book_id)

    @edits(RateBookOut, body=RateBookEdit, conflicts=True)
    def patch(self, book_id: Any) -> RateBook:
        """Change a draft's standard crew, the roles of its skills, or its notes."""
        book = rate_book_get(book_id)
        return rate_book_edit(book=book, values=self.body, expected=self.version_named(book), stamp=self.stamp())


class RateBookCopy(Endpoint):
    endpoint = "rate-book-copy"

    @writes(RateBookOut, body=CopyIn, located_at="rate-book")
    def post(self, book_id: Any) -> RateBook:
        """A new draft with the rates of any edition, to change."""
        return rate_book_copy(book=rate_book_get(book_id), stamp=self.stamp(), **self.body)


class RateBookDiscard(Endpoint):
    endpoint = "rate-book-discard"

    @writes(RateBookRow, body=Nothing, status=200)
    def post(self, book_id: Any) -> RateBook:
        """Throw a draft away; the reply shows what it was."""
        book = rate_book_get(book_id)
        rate_book_discard(book=book, stamp=self.stamp())
        return book


class RateBookPutInForce(Endpoint):
    endpoint = "rate-book-put-in-force"

    @writes(RateBookRow, body=InForce, status=200)
    def post(self, book_id: Any) -> RateBook:
        """Put a draft in force from a day on; the book of the same kind of crew retires the day before.

        A book without rates for a method of open prescriptions is refused.
        """
        book = rate_book_get(book_id)
        return flow.put_rate_book_in_force(book=book, from_day=self.body["from_day"], stamp=self.stamp())


class RateBookRetire(Endpoint):
    endpoint = "rate-book-retire"

    @writes(RateBookRow, body=Retire, status=200)
    def post(self, book_id: Any) -> RateBook:
        """Take a book out of force without another in its place."""
        return rate_book_retire(book=rate_book_get(book_id), stamp=self.stamp(), **self.body)


class Rates(Endpoint):
    endpoint = "rate-book-rates"

    @writes(RateBookOut, body=RateAdd, more_statuses=(412,))
    def post(self, book_id: Any) -> RateBook:
        """Add a rate to a draft. The whole book is checked first; an error names the row and the column."""
        place = {"after_line": self.body.pop("after_line", None), "expected": self.body.pop("version")}
        return rate_add(book=rate_book_get(book_id), values=self.body, stamp=self.stamp(), **place)

    @edits(RateBookOut, body=RateEdit, conflicts=True)
    def patch(self, book_id: Any) -> RateBook:
        """Change columns of one rate of a draft."""
        book, line = rate_book_get(book_id), self.body.pop("line")
        expected = self.version_named(book)
        return rate_edit(book=book, line=line, values=self.body, expected=expected, stamp=self.stamp())


class RateGone(Endpoint):
    endpoint = "rate-book-rate-remove"

    @writes(RateBookOut, body=RateRemove, status=200, more_statuses=(412,))
    def post(self, book_id: Any) -> RateBook:
        """Take a rate out of a draft."""
        book, expected = rate_book_get(book_id), self.body["version"]
        return rate_remove(book=book, line=self.body["line"], expected=expected, stamp=self.stamp())


class CsvOut(Out):
    csv = serializers.CharField()


CSV_QUERIES: Queries = (("format", {"type": "string", "enum": ["json", "csv"]}, "Else as the Accept header says."),)


class RatesCsv(Endpoint):
    endpoint = "rate-book-csv"
    renderer_classes = (JSONRenderer, CsvRenderer)

    @reports(CsvOut, queries=CSV_QUERIES, also_csv=True)
    def get(self, book_id: Any) -> Response | dict[str, str]:
        """The rates as CSV, to the letter.

        Text that a spreadsheet would run as a formula begins with an apostrophe, which is taken off when it is read in.
        """
        queries_check(self.request, {"format"})
        if self.request.query_params.get("format", "csv") not in ("json", "csv"):
            raise Invalid("The rates cannot be had that way.", [FieldError("format", "must be json or csv")])
        book = rate_book_get(book_id)
        text = rates_csv(rate_rows(book))
        if not isinstance(self.request.accepted_renderer, CsvRenderer):
            return {"csv": text}
        named = {"Content-Disposition": f'attachment; filename="rates-{book.public_id}.csv"'}
        return Response(text, content_type="text/csv; charset=utf-8; header=present", headers=named)

    @edits(RateBookOut, body=CsvIn, conflicts=True)
    def put(self, book_id: Any) -> RateBook:
        """Replace all rates of a draft. If-Match takes the ETag of the rate book itself."""
        book = rate_book_get(book_id)
        return rates_import(book=book, text=self.body["csv"], expected=self.version_named(book), stamp=self.stamp())
