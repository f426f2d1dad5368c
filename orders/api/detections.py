"""New plants that crews saw, with the survey that came of each."""

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import Filters, OfId, OfWord
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, SiteRef, SpeciesRef, UserRef
from orders.field.models import Detection
from orders.field.selectors.checkins import detections_of


class DetectionOut(Row):
    site = SiteRef()
    species = SpeciesRef(allow_null=True)
    species_text = serializers.CharField(help_text="Where the species is not one that the program knows.")
    growth_form = serializers.CharField()
    geometry = serializers.DictField(help_text="GeoJSON point or polygon, WGS 84.")
    accuracy_m = serializers.FloatField(allow_null=True)
    cover_percent = serializers.FloatField(allow_null=True)
    note = serializers.CharField()
    at = serializers.DateTimeField()
    by = UserRef(allow_null=True)
    survey = serializers.UUIDField(source="survey.public_id", default=None, allow_null=True)


class DetectionFilter(Filters):
    site = OfId(field_name="site__public_id")
    species = OfWord(field_name="species__code")


class Detections(ListEndpoint):
    endpoint = "detections"
    row = DetectionOut
    filters = DetectionFilter
    sorts = {"at": "at"}
    usual_sort = "-at"

    def rows(self) -> QuerySet[Detection]:
        """Detections; a crew lead's are own ones."""
        return detections_of(self.actor, on=self.today)
