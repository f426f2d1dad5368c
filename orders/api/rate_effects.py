"""What a rate book would change: against another book, and in the estimates that open work rests on."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint, queries_check
from orders.api.operations import Queries, reports, shows
from orders.api.shapes import MethodRef, Out, PatchRef, UserRef
from orders.bodies.fields import day_read, id_read
from orders.common.errors import FieldError, Invalid
from orders.common.models import Change
from orders.estimates.again import Effect, rate_book_warnings
from orders.estimates.rate_difference import Difference, rate_book_difference
from orders.estimates.selectors import rate_book_changes, rate_book_get

Value = TypeVar("Value")


class ValueChangeOut(Out):
    column = serializers.CharField()
    old = serializers.CharField()
    new = serializers.CharField()


class RateChangeOut(Out):
    change = serializers.ChoiceField([(word, word) for word in ("added", "removed", "changed")])
    kind = serializers.CharField()
    method = serializers.CharField()
    step = serializers.CharField()
    growth_form = serializers.CharField()
    driver = serializers.CharField()
    from_value = serializers.CharField()
    values = ValueChangeOut(many=True)


class DifferenceOut(Out):
    old = serializers.UUIDField(source="old.public_id")
    new = serializers.UUIDField(source="new.public_id")
    same = serializers.IntegerField(help_text="Rows that are the same in both.")
    rows = RateChangeOut(many=True)


class RateBookDifference(Endpoint):
    endpoint = "rate-book-difference"
    queries: Queries = (("to", {"type": "string", "format": "uuid"}, "The book that would take this one's place."),)

    @reports(DifferenceOut, queries=queries, names_others=True)
    def get(self, book_id: Any) -> Difference:
        """Rows added, removed and changed from this book to another."""
        other = _query(self, "to", id_read)
        if other is None:
            raise Invalid("Say which book to compare with.", [FieldError("to", "is required", code="required")])
        return rate_book_difference(rate_book_get(book_id), rate_book_get(other))


class EffectSumOut(Out):
    name = serializers.CharField()
    rows = serializers.IntegerField()
    left_out = serializers.IntegerField(help_text="Of these the book makes no estimate; they are on neither side.")
    old_hours = serializers.FloatField()
    new_hours = serializers.FloatField()
    old_cents = serializers.IntegerField()
    new_cents = serializers.IntegerField()


class EffectRowOut(Out):
    estimate = serializers.UUIDField(source="estimate.public_id")
    patch = PatchRef(source="estimate.survey.patch")
    method = MethodRef(source="estimate.method")
    share = serializers.FloatField(help_text="Of the estimate that is still to be done.")
    old_hours = serializers.FloatField()
    new_hours = serializers.FloatField(allow_null=True)
    old_cents = serializers.IntegerField()
    new_cents = serializers.IntegerField(allow_null=True)
    same_prices = serializers.BooleanField(help_text="False: part of the change is one of prices.")


class HoursRangeOut(Out):
    low = serializers.FloatField()
    likely = serializers.FloatField()
    high = serializers.FloatField()
    mean = serializers.FloatField()


class EffectOut(Out):
    book = serializers.UUIDField(source="book.public_id")
    on = serializers.DateField()
    total = EffectSumOut()
    old_range = HoursRangeOut(help_text="Field hours of all rows together; 10, 50 and 90% points.")
    new_range = HoursRangeOut()
    by_method = EffectSumOut(many=True)
    rows = EffectRowOut(many=True)


class RateBookEffect(Endpoint):
    endpoint = "rate-book-effect"
    queries: Queries = (("on", {"type": "string", "format": "date"}, "The day whose prices count; today as a rule."),)

    @reports(EffectOut, queries=queries)
    def get(self, book_id: Any) -> Effect:
        """What the book would change in the estimates of open and planned prescriptions. Nothing is stored."""
        on = _query(self, "on", day_read) or self.today
        return flow.rate_book_effect_on_open(book=rate_book_get(book_id), on=on)


class WarningOut(Out):
    code = serializers.CharField()
    method = serializers.CharField()
    growth_form = serializers.CharField()
    text = serializers.CharField()
    figure = serializers.FloatField()
    low = serializers.FloatField(help_text="Of the published range.")
    high = serializers.FloatField(allow_null=True, help_text="Null: no upper end.")
    soft = serializers.BooleanField(help_text="Whether the evidence itself is weak.")
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class WarningsOut(Out):
    warnings = WarningOut(many=True)


class RateBookWarnings(Endpoint):
    endpoint = "rate-book-warnings"

    @shows(WarningsOut, more_statuses=(400,))
    def get(self, book_id: Any) -> dict[str, Any]:
        """Where the book goes against published figures. To be thought about; nothing is blocked by it."""
        return {"warnings": rate_book_warnings(rate_book_get(book_id))}


class BookChangeOut(Out):
    at = serializers.DateTimeField()
    by = UserRef(source="actor", allow_null=True)
    verb = serializers.CharField()
    version = serializers.IntegerField(source="entity_version", allow_null=True)
    before = serializers.DictField(allow_null=True)
    after = serializers.DictField(allow_null=True)
    reason = serializers.CharField()


class BookChangesOut(Out):
    changes = BookChangeOut(many=True)


class RateBookChanges(Endpoint):
    endpoint = "rate-book-changes"

    @shows(BookChangesOut)
    def get(self, book_id: Any) -> dict[str, QuerySet[Change]]:
        """Who changed what in the book, the newest first."""
        return {"changes": rate_book_changes(rate_book_get(book_id))}


def _query(view: Endpoint, name: str, read: Callable[[str], Value]) -> Value | None:
    queries_check(view.request, {name})
    text = view.request.query_params.get(name)
    if text is None:
        return None
    try:
        return read(text)
    except ValueError as error:
        raise Invalid("This cannot be asked for that way.", [FieldError(name, str(error))]) from error
