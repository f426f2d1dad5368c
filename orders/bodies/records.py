"""Application records as they are signed, and what the office says of them and of the rules behind them."""

import re
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from orders.bodies.base import Body
from orders.bodies.fields import Choice, Day, Flag, Id, Moment, Text, Whole
from orders.workorders.models import RecordProfile
from orders.workorders.records.fields import CODES

MOST_PRODUCTS, MOST_CHARACTERS = 20, 400
UNKEPT = re.compile("[\0\ud800-\udfff]")  # what no database keeps
FIELD_CODES = [(code, code) for code in CODES]


@extend_schema_field({"type": "object", "properties": {code: {} for code in CODES}, "additionalProperties": False})
class Values(serializers.Field):  # type: ignore[type-arg]
    """By field code. What a value must look like to count is the record's matter: here only its size is."""

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        if not isinstance(data, dict):
            raise serializers.ValidationError("must be an object by field code")
        unknown = {str(code)[:60]: ["is no field of a record"] for code in data if code not in CODES}
        if unknown:
            raise serializers.ValidationError(unknown)
        for code, value in data.items():
            if not _fits(value):
                raise serializers.ValidationError({code: ["is too long, or too deep"]})
        return data

    def to_representation(self, value: Any) -> Any:
        return value


def _fits(value: Any, depth: int = 2) -> bool:
    if isinstance(value, str):
        return len(value) <= MOST_CHARACTERS and not UNKEPT.search(value)
    if isinstance(value, dict):
        inside = depth > 0 and len(value) <= MOST_PRODUCTS
        return inside and all(_fits(name) and _fits(part, depth - 1) for name, part in value.items())
    return value is None or isinstance(value, bool | int | float)


class _Signed(Body):
    batch = Id()
    site = Id()
    work_date = Day()
    responsible = Id(help_text="The applicator who answers for it.")
    values = Values(help_text="By field code, as signed.")
    signed_by = Text(max_length=120)
    reason = Text(max_length=300, required=False, allow_null=True, allow_blank=True, help_text="Of an amendment.")


class ApplicationRecordIn(_Signed):
    """As a tablet says it: when it was signed stands in its envelope."""

    id = Id()


class RecordSigned(_Signed):
    """As the API takes it."""

    id = Id(required=False)
    signed_at = Moment()


class ProfileIn(Body):
    """A rule for uses from a day on; what was in force before ends on the day before."""

    jurisdiction = Text(max_length=10, allow_blank=True, help_text="Its code; empty: the program's own.")
    first_day = Day()
    scope = Text(max_length=200, allow_blank=True, default="")
    counts = Choice(RecordProfile.COUNTS)
    days = Whole(max_value=366, default=0)
    keep_years = Whole(min_value=1, max_value=50)
    required = serializers.ListField(child=Choice(FIELD_CODES), max_length=len(CODES))  # type: ignore[assignment]  # as below
    if_applicable = serializers.ListField(child=Choice(FIELD_CODES), max_length=len(CODES), default=list)
    produce = Text(max_length=200, allow_blank=True, default="")
    must_carry_order = Flag(default=False)
    volunteers_may_apply = Flag(default=False)
    volunteer_signal_words = serializers.ListField(child=Text(max_length=12), max_length=5, default=list)
    least_age = Whole(min_value=18, max_value=99, default=18)
    source = Text(max_length=300)  # type: ignore[assignment]  # the metaclass takes it off again
    not_found = Text(max_length=300, allow_blank=True, default="")


class HoldIn(Body):
    why = Text(max_length=300)


class PermitIn(Body):
    person = Id()
    products = serializers.ListField(child=Text(max_length=30), min_length=1, max_length=50, help_text="Codes.")
    sites = serializers.ListField(child=Id(), min_length=1, max_length=200)
    certificate = Text(max_length=40, allow_blank=True, default="")
    trained_by = Text(max_length=120)
    trained_on = Day()
    first_day = Day()
    last_day = Day(help_text="December 31 of the same year at the latest.")


class PermitEdit(Body):
    certificate = Text(max_length=40, allow_blank=True, required=False)
    last_day = Day(required=False)
