"""The dated rules on records, and their review by the pesticide supervisor."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import VersionedRow
from orders.bodies.base import Nothing
from orders.bodies.records import FIELD_CODES, ProfileIn
from orders.workorders.models import RecordProfile
from orders.workorders.records.profiles import record_profile_put, record_profile_review
from orders.workorders.records.rules import profile_get, profiles


class ProfileOut(VersionedRow):
    jurisdiction = serializers.CharField(help_text="Its code; empty: the program's own, where no other is known.")
    first_day = serializers.DateField(help_text="For uses from this day on.")
    last_day = serializers.DateField(allow_null=True)
    scope = serializers.CharField()
    counts = serializers.ChoiceField(RecordProfile.COUNTS, help_text="The term counts from the end of the use.")
    days = serializers.IntegerField()
    keep_years = serializers.IntegerField()
    required = serializers.ListField(  # type: ignore[assignment]  # the metaclass takes it off again
        child=serializers.ChoiceField(FIELD_CODES)
    )
    if_applicable = serializers.ListField(child=serializers.ChoiceField(FIELD_CODES))
    produce = serializers.CharField()
    must_carry_order = serializers.BooleanField()
    volunteers_may_apply = serializers.BooleanField()
    volunteer_signal_words = serializers.ListField(child=serializers.CharField())
    least_age = serializers.IntegerField()
    not_found = serializers.CharField(help_text="What the source read does not tell.")
    reviewed_by = serializers.CharField()
    reviewed_on = serializers.DateField(allow_null=True, help_text="null: nobody has reviewed it.")


class ProfileRow(ProfileOut):
    """With where the rule is from; `source` is a name that serializers keep for themselves."""

    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class ProfileFilter(Filters):
    jurisdiction = OfWord()


class RecordProfiles(ListEndpoint):
    endpoint = "record-profiles"
    row = ProfileRow
    filters = ProfileFilter
    sorts = {"jurisdiction": "jurisdiction", "first_day": "first_day"}
    usual_sort = "jurisdiction"

    def rows(self) -> QuerySet[RecordProfile]:
        """What a record must hold, by when it is due, how long it is kept, and who may apply; older rules stay."""
        return profiles()

    @writes(ProfileRow, body=ProfileIn, located_at="record-profile")
    def post(self) -> RecordProfile:
        """A rule for uses from a day on. What was in force before ends on the day before."""
        values = dict(self.body)
        jurisdiction, first_day = values.pop("jurisdiction"), values.pop("first_day")
        return record_profile_put(jurisdiction=jurisdiction, first_day=first_day, values=values, stamp=self.stamp())


class RecordProfileOne(Endpoint):
    endpoint = "record-profile"

    @shows(ProfileRow)
    def get(self, profile_id: Any) -> RecordProfile:
        """One rule."""
        return profile_get(profile_id)

    @edits(ProfileRow, body=Nothing)
    def patch(self, profile_id: Any) -> RecordProfile:
        """Say that one has compared it with the rule in force. Another text needs another rule, from a day on."""
        profile = profile_get(profile_id)
        expected = self.version_named(profile)
        return record_profile_review(profile=profile, expected=expected, stamp=self.stamp())
