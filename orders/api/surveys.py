"""Surveys: what was seen on a patch on a day. Never overwritten; one that is wrong is voided."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay, YesNo
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import PatchRef, Row, SpeciesRef
from orders.api.survey_sheets import SurveyEntered, SurveyIn, survey_entered
from orders.bodies.base import Because
from orders.sites.models import Survey
from orders.sites.selectors import survey_get, surveys
from orders.sites.services import Entered, survey_void


class ComponentOut(Row):
    species = SpeciesRef()
    growth_form = serializers.CharField(source="growth_form.code")
    infested_area_m2 = serializers.FloatField()
    cover_low = serializers.FloatField()
    cover_likely = serializers.FloatField()
    cover_high = serializers.FloatField()
    cover_as_entered = serializers.CharField()
    cover_is_class = serializers.BooleanField()
    stems_small = serializers.IntegerField(allow_null=True)
    stems_medium = serializers.IntegerField(allow_null=True)
    stems_large = serializers.IntegerField(allow_null=True)
    height_m = serializers.FloatField(allow_null=True)
    cut_height_m = serializers.FloatField(allow_null=True, help_text="Of the upper cut through a climbing stem.")
    host_trees = serializers.IntegerField(allow_null=True)
    fertile = serializers.CharField()
    reproductive_condition = serializers.CharField(help_text="unknown, none, flowers or fruit, as seen on the day.")


class SurveyRow(Row):
    patch = PatchRef()
    observed_on = serializers.DateField()
    observer = serializers.CharField()
    gross_area_m2 = serializers.FloatField()
    recorded_at = serializers.DateTimeField()
    voided_at = serializers.DateTimeField(allow_null=True)
    void_reason = serializers.CharField()


class SurveyOut(SurveyRow):
    geometry = serializers.DictField(help_text="GeoJSON geometry, WGS 84.")
    slope_deg = serializers.FloatField(allow_null=True)
    ground = serializers.CharField(help_text="even, rough, obstructed or unknown.")
    wet_ground = serializers.CharField()
    distance_to_water_m = serializers.FloatField(allow_null=True)
    desirable_tree_roots = serializers.CharField()
    evergreen_natives = serializers.CharField()
    spring_ephemerals = serializers.CharField()
    minutes_from_gate = serializers.FloatField(allow_null=True)
    notes = serializers.CharField()
    components = ComponentOut(many=True)


class SurveyFilter(Filters):
    patch = OfId(field_name="patch__public_id")
    site = OfId(field_name="patch__site__public_id")
    survey_import = OfId(field_name="source__public_id")
    observed_from = OnDay(field_name="observed_on", lookup_expr="gte")
    observed_to = OnDay(field_name="observed_on", lookup_expr="lte")
    voided = YesNo(field_name="voided_at", lookup_expr="isnull", exclude=True)


class Surveys(ListEndpoint):
    endpoint = "surveys"
    row = SurveyRow
    from_columns = True
    filters = SurveyFilter
    sorts = {"observed_on": "observed_on", "patch": "patch__code"}
    usual_sort = "-observed_on"

    def rows(self) -> QuerySet[Survey]:
        """Surveys, void ones too, without shapes and components."""
        return surveys().prefetch_related(None).defer("geometry")

    @writes(SurveyEntered, body=SurveyIn, names_others=True)
    def post(self) -> Entered:
        """Enter a survey by hand, of a patch that is there or with a new one; judged as a survey file's rows are."""
        return survey_entered(self.body, self.stamp())


class SurveyOne(Endpoint):
    endpoint = "survey"

    @shows(SurveyOut)
    def get(self, survey_id: Any) -> Survey:
        """One survey with its shape and components."""
        return survey_get(survey_id)


class SurveyVoid(Endpoint):
    endpoint = "survey-void"

    @writes(SurveyOut, body=Because, status=200)
    def post(self, survey_id: Any) -> Survey:
        """Void a survey: it stays on record and counts no more."""
        return survey_void(survey=survey_get(survey_id), stamp=self.stamp(self.body["reason"]))
