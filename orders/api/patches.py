"""Patches: what is wanted of a mapped infestation, and which methods suit it."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfId, OfWord, YesNo
from orders.api.operations import edits, reports, shows
from orders.api.paging import ListEndpoint
from orders.api.season_windows import SeedOut
from orders.api.shapes import MethodRef, Out, PatchRef, SiteRef, SpeciesRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Number, Text, id_read
from orders.common.errors import FieldError, Invalid, NotFound
from orders.estimates.services import survey_suitability
from orders.planning.models import Season
from orders.planning.options import PatchOptions
from orders.planning.selectors import season_get
from orders.sites.models import CONTROL_STATES, Patch
from orders.sites.selectors import patch_get, patches, patches_with, survey_newest
from orders.sites.services import patch_edit
from orders.workorders.selectors import repeat_years


class PatchOut(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    site = SiteRef()
    target_cover = serializers.FloatField(help_text="Share of the ground, 0 to 1.")
    control_state = serializers.ChoiceField(CONTROL_STATES)
    ended_on = serializers.DateField(allow_null=True, help_text="From this day others stand in its place.")


class PatchEdit(Body):
    name = Text(max_length=120, allow_blank=True, required=False)
    target_cover = Number(min_value=0, max_value=1, required=False)
    control_state = Choice(CONTROL_STATES, required=False)


class PatchFilter(Filters):
    site = OfId(field_name="site__public_id")
    control_state = AnyOf(words=CONTROL_STATES)
    ended = YesNo(field_name="ended_on", lookup_expr="isnull", exclude=True)
    species = OfWord(method="with_species", help_text="Code of a species that the newest survey found there.")

    def with_species(self, rows: QuerySet[Patch], name: str, code: str) -> QuerySet[Patch]:
        return patches_with(rows, code)


class Patches(ListEndpoint):
    endpoint = "patches"
    row = PatchOut
    from_columns = True
    filters = PatchFilter
    sorts = {"code": "code", "site": "site__code", "control_state": "control_state"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Patch]:
        """Mapped infestations, with what is wanted of them."""
        return patches()


class PatchOne(Endpoint):
    endpoint = "patch"

    @shows(PatchOut)
    def get(self, patch_id: Any) -> Patch:
        """One patch."""
        return patch_get(patch_id)

    @edits(PatchOut, body=PatchEdit)
    def patch(self, patch_id: Any) -> Patch:
        """Change what is wanted of the patch; what is left out stays."""
        patch = patch_get(patch_id)
        return patch_edit(patch=patch, expected=self.version_named(patch), stamp=self.stamp(), **self.body)


class SuitabilityOut(Out):
    survey = serializers.UUIDField(source="survey.public_id", help_text="The survey that it rests on.")
    patch = serializers.CharField()
    recommended = serializers.CharField(allow_null=True, help_text="Method code.")
    because = serializers.CharField()
    methods = serializers.DictField(child=serializers.CharField(), help_text="yes, no or unknown by method code.")
    components = serializers.ListField(child=serializers.DictField(), help_text="Each rule's word on each component.")


class PatchSuitability(Endpoint):
    endpoint = "patch-suitability"

    @shows(SuitabilityOut)
    def get(self, patch_id: Any) -> dict[str, Any]:
        """Which methods suit the patch by its newest survey, and the reason for each yes and no."""
        survey = survey_newest(patch_get(patch_id))
        if survey is None:
            raise NotFound("The patch has no survey that counts.")
        suited = survey_suitability([survey], repeat_years(on=self.today))
        return {"survey": survey, **suited.for_patch(0)}


class ReasonOut(Out):
    rule = serializers.CharField()
    text = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment]  # a field of this name, which the stubs do not expect


class CourseOut(Out):
    low = serializers.ListField(child=serializers.FloatField())
    likely = serializers.ListField(child=serializers.FloatField())
    high = serializers.ListField(child=serializers.FloatField())


class OpenDaysOut(Out):
    opens = serializers.DateField(source="first")
    closes = serializers.DateField(source="last")
    why = serializers.CharField(source="because", help_text="Why it opens and why it closes.")


class SeedDueOut(Out):
    species = SpeciesRef()
    deadline = SeedOut()


class OptionOut(Out):
    method = MethodRef()
    fits = serializers.CharField(help_text="yes, no or unknown.")
    reasons = ReasonOut(many=True)
    is_recommended = serializers.BooleanField()
    why = serializers.CharField(help_text="Why it is recommended; empty where it is not.")
    uses_herbicide = serializers.BooleanField(source="facts.uses_herbicide")
    needs_license = serializers.BooleanField(source="facts.needs_license")
    follow_up_days = serializers.IntegerField(source="facts.needs_follow_up_days")
    estimate = serializers.UUIDField(source="estimate.public_id", allow_null=True)
    volunteers_estimate = serializers.UUIDField(source="volunteers.public_id", allow_null=True)
    hours_low = serializers.FloatField(source="estimate.hours_low", allow_null=True)
    hours_likely = serializers.FloatField(source="estimate.hours_likely", allow_null=True)
    hours_high = serializers.FloatField(source="estimate.hours_high", allow_null=True)
    crew_days = serializers.FloatField(source="estimate.crew_days", allow_null=True)
    cost_low_cents = serializers.IntegerField(source="estimate.cost_low_cents", allow_null=True)
    total_cents = serializers.IntegerField(source="estimate.total_cents", allow_null=True)
    cost_high_cents = serializers.IntegerField(source="estimate.cost_high_cents", allow_null=True)
    contract_cents = serializers.IntegerField(source="estimate.contract_cents", allow_null=True)
    first_day = serializers.DateField(source="days.first", allow_null=True)
    last_day = serializers.DateField(source="days.last", allow_null=True)
    windows = OpenDaysOut(many=True, help_text="All that are open in the season, in order.")
    notes = serializers.ListField(child=serializers.CharField())
    prescription = serializers.UUIDField(source="chosen.public_id", allow_null=True)
    cover_after = serializers.ListField(
        child=serializers.FloatField(), allow_null=True, help_text="Low, likely and high at the end of year 1, 0 to 1."
    )
    held_from = serializers.IntegerField(help_text="Year from which yearly work holds the target; -1: not within 5.")
    back_in = serializers.IntegerField(help_text="Year in which one treatment alone is above the target again; or -1.")
    hours_by_year = serializers.ListField(child=serializers.FloatField(), help_text="Person-hours of years 1 to 5.")


class OptionsOut(Out):
    patch = PatchRef(source="line.patch")
    survey = serializers.UUIDField(source="line.survey.public_id")
    because = serializers.CharField(source="line.because")
    options = OptionOut(many=True)
    seed_dues = SeedDueOut(many=True, help_text="By species: the day before which its fruit is cut.")
    years = serializers.ListField(child=serializers.IntegerField(), help_text="0 is the survey.")
    untreated = CourseOut(help_text="Cover by year without treatment.")
    once = serializers.DictField(child=CourseOut(), help_text="By method: treated in year 1 alone.")
    kept_up = serializers.DictField(child=CourseOut(), help_text="By method: treated every year.")
    trouble = serializers.CharField(help_text="Why the years ahead cannot be estimated; empty where they are.")


SEASON_QUERY = (("season", {"type": "string", "format": "uuid"}, "Windows and choices of this season."),)


class PatchOptionsAll(Endpoint):
    endpoint = "patch-options"

    @reports(OptionsOut, queries=SEASON_QUERY, names_others=True)
    def get(self, patch_id: Any) -> PatchOptions:
        """Every method side by side: fit, hours, money, expected cover, and what the years ahead ask for."""
        queries_check(self.request, {"season"})
        season = _season(self.request.query_params.get("season"))
        return flow.methods_side_by_side(patch=patch_get(patch_id), season=season, on=self.today)


def _season(named: str | None) -> Season | None:
    if named is None:
        return None
    try:
        return season_get(id_read(named))
    except ValueError as error:
        raise Invalid("The options cannot be asked for that way.", [FieldError("season", str(error))]) from error
