"""Patches: what is wanted of a mapped infestation, and which methods suit it."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.fields import Choice, Number, Text
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import edits, shows
from orders.api.paging import ListEndpoint
from orders.api.shapes import Body, Out, SiteRef, VersionedRow
from orders.common.errors import NotFound
from orders.estimates.services import survey_suitability
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


class PatchEdit(Body):
    name = Text(max_length=120, allow_blank=True, required=False)
    target_cover = Number(min_value=0, max_value=1, required=False)
    control_state = Choice(CONTROL_STATES, required=False)


class PatchFilter(Filters):
    site = OfId(field_name="site__public_id")
    control_state = AnyOf(words=CONTROL_STATES)
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
