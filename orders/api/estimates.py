"""Estimates: what each method would take on a patch, and everything that made the figures. At standard rates."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.fields import Day, Id
from orders.api.filters import Filters, OfId, OfWord
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Body, MethodRef, Out, PatchRef, Row
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimate_get, estimates
from orders.sites.selectors import surveys_named

MOST_SURVEYS = 500


class EstimateRow(Row):
    patch = PatchRef(source="survey.patch")
    survey = serializers.UUIDField(source="survey.public_id")
    method = MethodRef()
    rate_book = serializers.UUIDField(source="rate_book.public_id")
    mix = serializers.CharField(source="mix.code", allow_null=True)
    repeat_year = serializers.IntegerField()
    main_species = serializers.CharField(source="main_species_code")
    treated_area_m2 = serializers.FloatField()
    spray_volume_l = serializers.FloatField()
    person_hours = serializers.FloatField()
    paid_person_hours = serializers.FloatField()
    crew_hours = serializers.FloatField()
    crew_days = serializers.FloatField()
    hours_low = serializers.FloatField()
    hours_likely = serializers.FloatField()
    hours_high = serializers.FloatField()
    hours_mean = serializers.FloatField()
    labor_cents = serializers.IntegerField()
    material_cents = serializers.IntegerField()
    equipment_cents = serializers.IntegerField()
    mileage_cents = serializers.IntegerField()
    total_cents = serializers.IntegerField()
    cost_low_cents = serializers.IntegerField()
    cost_high_cents = serializers.IntegerField()
    at = serializers.DateTimeField()


class EstimateOut(EstimateRow):
    products_ul = serializers.DictField(help_text="Microliters of each product, by its code.")
    explanation = serializers.DictField(source="result", help_text="Every step, quantity, rate and sum.")
    inputs = serializers.DictField(help_text="The facts that it rests on, as they were.")


class EstimateIn(Body):
    surveys = serializers.ListField(child=Id(), required=False, min_length=1, max_length=MOST_SURVEYS)
    on = Day(required=False, help_text="The day whose prices count; today where it is left out.")


class MadeOut(Out):
    count = serializers.IntegerField()
    estimates = serializers.ListField(child=serializers.UUIDField())


class EstimateFilter(Filters):
    patch = OfId(field_name="survey__patch__public_id")
    survey = OfId(field_name="survey__public_id")
    method = OfWord(field_name="method__code")
    rate_book = OfId(field_name="rate_book__public_id")


class Estimates(ListEndpoint):
    endpoint = "estimates"
    row = EstimateRow
    from_columns = True
    filters = EstimateFilter
    sorts = {"id": "id", "at": "at", "total_cents": "total_cents"}
    usual_sort = "-id"

    def rows(self) -> QuerySet[Estimate]:
        """Estimates, the newest first, without their explanations."""
        return estimates().defer("inputs", "result", "products_ul", "survey__geometry", "survey__patch__site__boundary")

    @writes(MadeOut, body=EstimateIn, names_others=True)
    def post(self) -> dict[str, Any]:
        """Estimate every method that fits, for the surveys named or for the newest of each patch."""
        named = self.body.get("surveys")
        asked = None if named is None else surveys_named(named)
        made = flow.estimate_patches(surveys=asked, on=self.body.get("on", self.today), stamp=self.stamp())
        return {"count": len(made), "estimates": [estimate.public_id for estimate in made]}


class EstimateOne(Endpoint):
    endpoint = "estimate"

    @shows(EstimateOut)
    def get(self, estimate_id: Any) -> Estimate:
        """One estimate with all that made it."""
        return estimate_get(estimate_id)
