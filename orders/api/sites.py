"""Sites: where, under whose rules, and what must be answered there."""

from dataclasses import fields
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Day, Flag, Text
from orders.bodies.places import SiteEdit, SiteIn
from orders.sites.models import Site
from orders.sites.selectors import checklist, checklist_question_get, jurisdiction_by_code, site_get, sites
from orders.sites.services import EmergencyPlan, checklist_answer, site_add, site_edit

PLAN = {one.name for one in fields(EmergencyPlan)}


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

    @writes(SiteOut, body=SiteIn, names_others=True, located_at="site")
    def post(self) -> Site:
        """Add a site with its boundary."""
        told = dict(self.body)
        plan = EmergencyPlan(**{name: told.pop(name) for name in PLAN & set(told)})
        return site_add(
            jurisdiction=jurisdiction_by_code(told.pop("jurisdiction")), plan=plan, stamp=self.stamp(), **told
        )


class SiteOne(Endpoint):
    endpoint = "site"

    @shows(SiteOut)
    def get(self, site_id: Any) -> Site:
        """One site, with its boundary."""
        return site_get(site_id)

    @edits(SiteOut, body=SiteEdit, names_others=True)
    def patch(self, site_id: Any) -> Site:
        """Change a site, its boundary, and the emergency plan that crews carry; what is left out stays."""
        site, told = site_get(site_id), dict(self.body)
        expected = self.version_named(site)
        if "jurisdiction" in told:
            told["jurisdiction"] = jurisdiction_by_code(told["jurisdiction"])
        return site_edit(site=site, values=told, expected=expected, stamp=self.stamp())


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
