"""Sites: where, under whose rules, and what must be answered there."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Day, Flag, Number, Text
from orders.sites.models import Site
from orders.sites.selectors import checklist, checklist_question_get, site_get, sites
from orders.sites.services import checklist_answer, site_edit


class JurisdictionRef(Out):
    code = serializers.CharField()
    name = serializers.CharField()


class SiteRow(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    jurisdiction = JurisdictionRef()
    time_zone = serializers.CharField()
    min_lon = serializers.FloatField()
    min_lat = serializers.FloatField()
    max_lon = serializers.FloatField()
    max_lat = serializers.FloatField()
    drive_minutes = serializers.IntegerField()
    drive_miles = serializers.DecimalField(max_digits=6, decimal_places=1)


class SiteOut(SiteRow):
    boundary = serializers.DictField(help_text="GeoJSON geometry, WGS 84.")
    access_notes = serializers.CharField()
    worker_protection_rules = serializers.BooleanField(
        help_text="The restricted-entry interval holds here, not the label's rule for other uses."
    )
    nearest_medical_help = serializers.CharField()
    medical_phone = serializers.CharField()
    medical_address = serializers.CharField()
    meeting_lon = serializers.FloatField(allow_null=True, help_text="Where an ambulance is met.")
    meeting_lat = serializers.FloatField(allow_null=True)
    emergency_access = serializers.CharField()
    radio_or_phone = serializers.CharField()


class SiteEdit(Body):
    """The way in, the emergency plan, and which entry rule holds; what is left out stays."""

    access_notes = Text(max_length=4000, allow_blank=True, required=False)
    worker_protection_rules = Flag(required=False)
    nearest_medical_help = Text(max_length=200, allow_blank=True, required=False)
    medical_phone = Text(max_length=40, allow_blank=True, required=False)
    medical_address = Text(max_length=200, allow_blank=True, required=False)
    meeting_lon = Number(min_value=-180, max_value=180, required=False, allow_null=True)
    meeting_lat = Number(min_value=-90, max_value=90, required=False, allow_null=True)
    emergency_access = Text(max_length=4000, allow_blank=True, required=False)
    radio_or_phone = Text(max_length=120, allow_blank=True, required=False)


class SiteFilter(Filters):
    code = OfWord()
    jurisdiction = OfWord(field_name="jurisdiction__code")


class Sites(ListEndpoint):
    endpoint = "sites"
    row = SiteRow
    from_columns = True
    filters = SiteFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Site]:
        """Sites, without their boundaries."""
        return sites().defer("boundary")


class SiteOne(Endpoint):
    endpoint = "site"

    @shows(SiteOut)
    def get(self, site_id: Any) -> Site:
        """One site, with its boundary."""
        return site_get(site_id)

    @edits(SiteOut, body=SiteEdit)
    def patch(self, site_id: Any) -> Site:
        """Change the way in and the emergency plan that crews carry; what is left out stays."""
        site = site_get(site_id)
        expected = self.version_named(site)
        return site_edit(site=site, values=self.body, expected=expected, stamp=self.stamp())


class AnswerOut(Row):
    answer = serializers.CharField()
    stops_work = serializers.BooleanField()
    valid_until = serializers.DateField(allow_null=True)
    answered_by = UserRef(allow_null=True)
    answered_at = serializers.DateTimeField()


class QuestionOut(Out):
    question = serializers.CharField(source="question.code")
    text = serializers.CharField(source="question.question")
    answer = AnswerOut(allow_null=True)
    open_because = serializers.CharField(help_text="What keeps it open; empty where it is settled.")


class ChecklistOut(Out):
    on = serializers.DateField(help_text="The day at the site for which this is told.")
    questions = QuestionOut(many=True)


class AnswerIn(Body):
    question = Text(max_length=50, help_text="Its code.")
    answer = Text(max_length=4000)
    stops_work = Flag(default=False)
    valid_until = Day(required=False, allow_null=True)


class Checklist(Endpoint):
    endpoint = "site-checklist"

    @shows(ChecklistOut)
    def get(self, site_id: Any) -> dict[str, Any]:
        """What must be answered before an order is issued at the site, and what is still open today."""
        site = site_get(site_id)
        today = self.stamp().local_date(site.time_zone)
        return {"on": today, "questions": checklist(site, today)}

    @writes(AnswerOut, body=AnswerIn, names_others=True)
    def post(self, site_id: Any) -> Any:
        """Answer a question. The answer before stays on record; this one counts."""
        question = checklist_question_get(self.body.pop("question"))
        return checklist_answer(site=site_get(site_id), question=question, stamp=self.stamp(), **self.body)
