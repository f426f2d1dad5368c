"""Which methods fit on all surveyed patches of a program, read as columns: for lists that narrow and sort thousands of
patches and then show some. `convert` has the same for surveys that are at hand; a test holds both together."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
from django.db.models import QuerySet

from estimating.columns import Known
from estimating.inputs import GROUND_KINDS, GROWTH_FORMS, ComponentFacts, PatchFacts
from estimating.suitability import NO_COMPONENT, NO_METHOD, Suitability
from orders.estimates.convert import ANSWERS, judged
from orders.estimates.selectors import methods
from orders.sites.models import GrowthForm, Species, Survey, SurveyComponent

Columns = dict[str, tuple[Any, ...]]

OF_SURVEY = (
    *("pk", "patch_id", "gross_area_m2", "slope_deg", "ground", "wet_ground", "distance_to_water_m"),
    *("desirable_tree_roots", "evergreen_natives", "spring_ephemerals", "patch__target_cover"),
    *("min_lon", "max_lon", "min_lat", "max_lat"),
)
OF_COMPONENT = (
    *("survey_id", "species_id", "growth_form_id", "infested_area_m2", "cover_low", "cover_likely", "cover_high"),
    *("stems_small", "stems_medium", "stems_large", "height_m", "cut_height_m", "fertile"),
)


class Suited(NamedTuple):
    """The keys of surveys in their order, and what fits on each."""

    surveys: tuple[int, ...]
    suited: Suitability


def surveys_suited(surveys: QuerySet[Survey], repeat_years: Mapping[int, int]) -> Suited:
    """The same as `survey_suitability` of these surveys, but for drive and walk, which no rule of suitability reads."""
    told = _columns(surveys.prefetch_related(None), OF_SURVEY)
    patches = _patches(told, repeat_years)
    rows = {key: number for number, key in enumerate(told["pk"])}
    return Suited(told["pk"], judged(patches, _components(surveys, rows), list(methods())))


def codes_leading(suited: Suitability) -> list[str]:
    """By survey the code of the method that its leading component asks for; empty for none."""
    if not len(suited.site.components):
        return [""] * len(suited.site.patches)
    method = np.where(suited.leading == NO_COMPONENT, NO_METHOD, suited.recommended[suited.leading])
    codes = [*suited.methods.codes, ""]  # the last is what -1 finds
    return [codes[number] for number in method.tolist()]


def _columns(rows: QuerySet[Any], names: tuple[str, ...]) -> Columns:
    found = list(rows.values_list(*names))
    return dict(zip(names, zip(*found, strict=True), strict=True)) if found else dict.fromkeys(names, ())


def _numbers(values: tuple[float | None, ...]) -> Any:
    return np.array([np.nan if value is None else value for value in values], dtype=float)


def _answers(values: tuple[str, ...]) -> list[Known]:
    return [ANSWERS[value] for value in values]


def _patches(told: Columns, repeat_years: Mapping[int, int]) -> PatchFacts:
    return PatchFacts(
        ids=tuple(map(str, told["patch_id"])),
        gross_area_m2=_numbers(told["gross_area_m2"]),
        area_mapped=_is_drawn(told),
        slope_deg=np.nan_to_num(_numbers(told["slope_deg"])),
        ground=np.array([GROUND_KINDS.index(kind) for kind in told["ground"]], dtype=np.int8),
        wet_ground=np.array(_answers(told["wet_ground"]), dtype=np.int8),
        distance_to_water_m=_numbers(told["distance_to_water_m"]),
        desirable_tree_roots=np.array(_answers(told["desirable_tree_roots"]), dtype=np.int8),
        evergreen_natives=np.array(_answers(told["evergreen_natives"]), dtype=np.int8),
        spring_ephemerals=np.array(_answers(told["spring_ephemerals"]), dtype=np.int8),
        repeat_year=np.array([repeat_years.get(patch, 1) for patch in told["patch_id"]], dtype=np.int64),
        target_cover=_numbers(told["patch__target_cover"]),
    )


def _is_drawn(told: Columns) -> Any:
    """A point has no extent, an outline has: its shape need not be read to tell them apart."""
    west, east, south, north = (_numbers(told[name]) for name in ("min_lon", "max_lon", "min_lat", "max_lat"))
    return (west != east) | (south != north)


def _components(surveys: QuerySet[Survey], rows: Mapping[int, int]) -> ComponentFacts:
    """In the order of the surveys, and of a survey in the order that it has them."""
    newest = surveys.order_by().values("pk")
    found = SurveyComponent.objects.filter(survey__in=newest).order_by("survey_id", "id").values_list(*OF_COMPONENT)
    listed = sorted(found, key=lambda row: rows[row[0]])
    told: Columns = (
        dict(zip(OF_COMPONENT, zip(*listed, strict=True), strict=True)) if listed else dict.fromkeys(OF_COMPONENT, ())
    )
    forms = {form.pk: GROWTH_FORMS.index(form.code) for form in GrowthForm.objects.all()}
    kinds = {kind.pk: kind for kind in Species.objects.all()}
    species = [kinds[key] for key in told["species_id"]]
    stems = [_numbers(told[name]) for name in ("stems_small", "stems_medium", "stems_large")]
    return ComponentFacts(
        ids=tuple(map(str, range(len(listed)))),
        species=tuple(kind.code for kind in species),
        patch_index=np.array([rows[key] for key in told["survey_id"]], dtype=np.int64),
        growth_form=np.array([forms[key] for key in told["growth_form_id"]], dtype=np.int8),
        infested_area_m2=_numbers(told["infested_area_m2"]),
        cover_low=_numbers(told["cover_low"]),
        cover_likely=_numbers(told["cover_likely"]),
        cover_high=_numbers(told["cover_high"]),
        stems=np.stack(stems, axis=1),
        height_m=np.nan_to_num(_numbers(told["height_m"])),
        cut_height_m=_numbers(told["cut_height_m"]),
        fertile=np.array(_answers(told["fertile"]), dtype=np.int8),
        evergreen=np.array([int(kind.evergreen) for kind in species], dtype=np.int8),
        resprouts=np.array([int(kind.resprouts) for kind in species], dtype=np.int8),
        reroots=np.array([ANSWERS[kind.pulled_stems_reroot] for kind in species], dtype=np.int8),
    )
