"""A survey as a request tells it, in the words of a survey file. The checks of files judge it."""

import json
from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import writes
from orders.api.shapes import Out, PatchRef
from orders.bodies.base import Body, many
from orders.bodies.fields import Choice, Day, Id, Number, Text, Whole
from orders.bodies.optional import MAY, MAY_SAY
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.sites.convert import OF_THE_PATCH, SAME_COMPONENT_FACTS, SAME_FACTS
from orders.sites.geofiles.drafts import (
    CODE_CHARACTERS,
    FARTHEST_M,
    HIGHEST_CUT_M,
    LARGEST_M2,
    LONGEST_MINUTES,
    LOWEST_CUT_M,
    NAME_CHARACTERS,
    NOTES_CHARACTERS,
    STEEPEST_DEG,
    TALLEST_M,
)
from orders.sites.models import CONTROL_STATES, GROUNDS, REPRODUCTIVE_CONDITIONS, YES_NO_UNKNOWN
from orders.sites.selectors import patch_get, site_get, survey_get
from orders.sites.services import Entered, Sheet, patch_add, survey_add, survey_correct
from orders.sites.services.by_hand import MOST_COMPONENTS

ROW_FACTS = ("observed_on", "observer", "gross_area_m2", *SAME_FACTS, *OF_THE_PATCH)
PART_FACTS = (
    "species",
    "growth_form",
    "infested_percent",
    "cover_percent",
    "cover_class",
    "cover_scheme",
    *SAME_COMPONENT_FACTS,
)


class ComponentIn(Body):
    species = Text(max_length=120, help_text="Its code, or a name.")
    growth_form = Text(max_length=40)
    cover_percent = Number(min_value=0, max_value=100, **MAY)
    cover_class = Text(max_length=20, **MAY_SAY, help_text="In place of a percent.")
    cover_scheme = Text(max_length=40, **MAY_SAY)
    infested_area_m2 = Number(min_value=0, max_value=LARGEST_M2, **MAY)
    infested_percent = Number(min_value=0, max_value=100, **MAY)
    stems_small = Whole(**MAY)
    stems_medium = Whole(**MAY)
    stems_large = Whole(**MAY)
    height_m = Number(min_value=0, max_value=TALLEST_M, **MAY)
    cut_height_m = Number(min_value=LOWEST_CUT_M, max_value=HIGHEST_CUT_M, **MAY)
    host_trees = Whole(**MAY)
    fertile = Choice(YES_NO_UNKNOWN, **MAY)
    reproductive_condition = Choice(REPRODUCTIVE_CONDITIONS, **MAY)


class SheetIn(Body):
    outline = serializers.DictField(help_text="GeoJSON geometry, WGS 84. A point needs gross_area_m2.")
    observed_on = Day()
    observer = Text(max_length=NAME_CHARACTERS)
    gross_area_m2 = Number(min_value=0, max_value=LARGEST_M2, **MAY)
    slope_deg = Number(min_value=0, max_value=STEEPEST_DEG, **MAY)
    ground = Choice(GROUNDS, **MAY)
    wet_ground = Choice(YES_NO_UNKNOWN, **MAY)
    distance_to_water_m = Number(min_value=0, max_value=FARTHEST_M, **MAY)
    desirable_tree_roots = Choice(YES_NO_UNKNOWN, **MAY)
    evergreen_natives = Choice(YES_NO_UNKNOWN, **MAY)
    spring_ephemerals = Choice(YES_NO_UNKNOWN, **MAY)
    minutes_from_gate = Number(min_value=0, max_value=LONGEST_MINUTES, **MAY)
    control_state = Choice(CONTROL_STATES, **MAY)
    notes = Text(max_length=NOTES_CHARACTERS, **MAY_SAY)
    components = many(ComponentIn, most=MOST_COMPONENTS, allow_empty=False)


class SurveyIn(SheetIn):
    patch = Id(required=False, help_text="One that is there; else site and code of a new one.")
    site = Id(required=False)
    code = Text(max_length=CODE_CHARACTERS, required=False)
    patch_name = Text(max_length=NAME_CHARACTERS, **MAY_SAY)
    target_cover_percent = Number(min_value=0, max_value=100, **MAY)


class CorrectionIn(SheetIn):
    reason = Text(max_length=200)


class SurveyEntered(Out):
    survey = serializers.UUIDField(source="survey.public_id")
    patch = PatchRef(source="survey.patch")
    observed_on = serializers.DateField(source="survey.observed_on")
    gross_area_m2 = serializers.FloatField(source="survey.gross_area_m2")
    warnings = serializers.ListField(child=serializers.CharField(), help_text="What a person should look at.")


def sheet_of(body: dict[str, Any]) -> Sheet:
    facts = {name: _cell(body[name]) for name in ROW_FACTS if body.get(name) is not None}
    parts = [
        {name: _cell(part[name]) for name in PART_FACTS if part.get(name) is not None} for part in body["components"]
    ]
    return Sheet(facts=facts, components=parts, outline=json.dumps(body["outline"]))


def _cell(value: Any) -> Any:
    return value if isinstance(value, str | int | float) else value.isoformat()


def survey_entered(body: dict[str, Any], stamp: Stamp) -> Entered:
    """Of a patch that is there, or with a new one: exactly one of both is named."""
    new = {"site", "code"} & set(body)
    if ("patch" in body) == bool(new) or (new and len(new) < 2):
        message = "name either a patch, or the site and code of a new one"
        raise Invalid("It cannot be told which patch was surveyed.", [FieldError("patch", message)])
    sheet = sheet_of(body)
    if "patch" in body:
        return survey_add(patch=patch_get(body["patch"]), sheet=sheet, stamp=stamp)
    return patch_add(site=site_get(body["site"]), code=body["code"], sheet=sheet, stamp=stamp)


class SurveyCorrect(Endpoint):
    endpoint = "survey-correct"

    @writes(SurveyEntered, body=CorrectionIn)
    def post(self, survey_id: Any) -> Entered:
        """Void a wrong survey and enter it anew, both or neither."""
        stamp = self.stamp(self.body["reason"])
        return survey_correct(survey=survey_get(survey_id), sheet=sheet_of(self.body), stamp=stamp)
