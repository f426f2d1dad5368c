"""Estimates: what each method would take on a patch, and everything that made the figures. At standard rates."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.estimate_runs import NotEstimatedOut
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import MethodRef, Out, PatchRef, Row
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Day, Id
from orders.estimates.again import estimates_stale
from orders.estimates.models import Estimate, RateBook
from orders.estimates.selectors import estimate_get, estimate_history, estimates
from orders.estimates.services import EstimatesComputed, estimates_store
from orders.sites.selectors import surveys_named

MOST_SURVEYS = 500


class FiguresOut(Out):
    """What an estimate comes to, as it stands or tried under other conditions."""

    treated_area_m2 = serializers.FloatField()
    spray_volume_l = serializers.FloatField()
    person_hours = serializers.FloatField(help_text="In the field; the same as hours_likely.")
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
    contingency_cents = serializers.IntegerField(
        allow_null=True, help_text="From the likely cost up to the rate book's level; null in estimates made before it."
    )


class EstimateRow(Row, FiguresOut):
    patch = PatchRef(source="survey.patch")
    survey = serializers.UUIDField(source="survey.public_id")
    method = MethodRef()
    rate_book = serializers.UUIDField(source="rate_book.public_id")
    crew_kind = serializers.ChoiceField(
        RateBook.CREW_KINDS, source="rate_book.crew_kind", help_text="Which kind of crew it is for."
    )
    mix = serializers.CharField(source="mix.code", allow_null=True)
    repeat_year = serializers.IntegerField()
    main_species = serializers.CharField(source="main_species_code")
    contract_cents = serializers.IntegerField(allow_null=True, help_text="A contractor's price, where one is listed.")
    at = serializers.DateTimeField()


class EstimateRef(Row):
    """The same patch by the same method, made at another time."""

    rate_book = serializers.UUIDField(source="rate_book.public_id")
    survey = serializers.UUIDField(source="survey.public_id")
    hours_low = serializers.FloatField()
    hours_likely = serializers.FloatField()
    hours_high = serializers.FloatField()
    total_cents = serializers.IntegerField()
    at = serializers.DateTimeField()


class EstimateOut(EstimateRow):
    products_ul = serializers.DictField(help_text="Microliters of each product, by its code.")
    explanation = serializers.DictField(source="result", help_text="Every step, quantity, rate and sum.")
    inputs = serializers.DictField(help_text="The facts that it rests on, as they were.")
    history = EstimateRef(many=True, help_text="Old and new side by side, the newest first; this one is among them.")
    stale = serializers.ListField(
        child=serializers.CharField(), help_text="Why estimating again would give another one; empty: it still stands."
    )


class EstimateIn(Body):
    surveys = serializers.ListField(child=Id(), required=False, min_length=1, max_length=MOST_SURVEYS)
    on = Day(required=False, help_text="The day whose prices count; today where it is left out.")
    crew_kind = Choice(
        RateBook.CREW_KINDS, default="staff", help_text="Whose rate book: methods without rates drop out."
    )


class MadeOut(Out):
    count = serializers.IntegerField()
    estimates = serializers.ListField(child=serializers.UUIDField())
    left_out = NotEstimatedOut(many=True, help_text="What could not be priced; the rest is estimated all the same.")


class EstimateFilter(Filters):
    patch = OfId(field_name="survey__patch__public_id")
    survey = OfId(field_name="survey__public_id")
    method = OfWord(field_name="method__code")
    rate_book = OfId(field_name="rate_book__public_id")
    crew_kind = AnyOf(field_name="rate_book__crew_kind", words=RateBook.CREW_KINDS)


class Estimates(ListEndpoint):
    endpoint = "estimates"
    row = EstimateRow
    from_columns = True
    filters = EstimateFilter
    sorts = {"id": "id", "at": "at", "total_cents": "total_cents"}
    usual_sort = "-id"
    ready: EstimatesComputed

    def rows(self) -> QuerySet[Estimate]:
        """Estimates, the newest first, without their explanations."""
        return estimates().defer("inputs", "result", "products_ul", "survey__geometry", "survey__patch__site__boundary")

    def computed(self) -> None:
        """The figures, before the write lock is taken: many patches take seconds."""
        named = self.body.get("surveys")
        asked = None if named is None else surveys_named(named)
        on, crew_kind = self.body.get("on", self.today), self.body["crew_kind"]
        self.ready = flow.estimates_ready(surveys=asked, on=on, crew_kind=crew_kind)

    @writes(MadeOut, body=EstimateIn, names_others=True, prepare=computed)
    def post(self) -> dict[str, Any]:
        """Estimate every method that fits, for the surveys named or for the newest of each patch."""
        made = estimates_store(computed=self.ready, stamp=self.stamp())
        named = [estimate.public_id for estimate in made]
        return {"count": len(made), "estimates": named, "left_out": self.ready.left_out}


class Told:
    """An estimate with what is said beside it; everything else is the estimate's own."""

    def __init__(self, estimate: Estimate, history: list[Estimate], stale: list[str]) -> None:
        self.estimate, self.history, self.stale = estimate, history, stale

    def __getattr__(self, name: str) -> Any:
        return getattr(self.estimate, name)


class EstimateOne(Endpoint):
    endpoint = "estimate"

    @shows(EstimateOut)
    def get(self, estimate_id: Any) -> Told:
        """One estimate with all that made it, and whether it still stands."""
        estimate = estimate_get(estimate_id)
        stale = estimates_stale([estimate], self.today)[estimate.pk]
        return Told(estimate, estimate_history(estimate), stale)
