"""A survey of something newly seen, from one observation and without a file: a new patch, its survey, one component."""

import json
import math
from dataclasses import dataclass
from datetime import date
from typing import Any

import shapely

from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.geofiles import areas
from orders.sites.geofiles.outlines import Problem, usable
from orders.sites.geofiles.records import SurveyComponent, SurveyRow
from orders.sites.models import GrowthForm, Patch, Site, Species, Survey
from orders.sites.services.survey_writes import patch_write, survey_write

NEW_PATCH = "N-"
# A point tells no extent: what was seen stands for the least piece of ground that a survey counts by (our own rule).
POINT_AREA_M2 = 1.0


@dataclass(frozen=True, kw_only=True)
class Seen:
    """One species in one form at one place. `accuracy_m` is of a point: the plants are somewhere within it."""

    site: Site
    observed_on: date
    observer: str
    species: Species
    growth_form: GrowthForm
    geometry: dict[str, Any]
    cover_percent: float
    accuracy_m: float | None = None
    notes: str = ""


@writing()
def survey_add_seen(*, seen: Seen, stamp: Stamp) -> Survey:
    """Always a patch of its own: a patch that is there has a survey of its whole, which this is not."""
    row = _row(seen, _code_next(seen.site))
    patch = patch_write(site=seen.site, code=row.patch_code, said={}, stamp=stamp)
    return survey_write(row=row, patch=patch, stamp=stamp)


def _row(seen: Seen, patch_code: str) -> SurveyRow:
    shape = _shape(seen.geometry)
    is_point = shape.geom_type == "Point"
    ground_m2 = _disc_m2(seen.accuracy_m) if is_point else areas.geodesic_area_m2(shape)
    infested_m2 = POINT_AREA_M2 if is_point else ground_m2
    component = SurveyComponent(
        species_code=seen.species.code,
        growth_form=seen.growth_form.code,
        infested_area_m2=infested_m2,
        infested_percent=infested_m2 / ground_m2 * 100,
        cover_percent=seen.cover_percent,
    )
    return SurveyRow(
        rows=(1,),
        site_code=seen.site.code,
        patch_code=patch_code,
        observed_on=seen.observed_on,
        observer=seen.observer,
        geometry=shape,
        area_m2=ground_m2,
        components=(component,),
        notes=seen.notes,
    )


def _shape(geometry: dict[str, Any]) -> Any:
    try:
        found = usable(areas.from_geojson(json.dumps(geometry)))
    except (TypeError, ValueError, shapely.errors.ShapelyError) as error:
        raise Invalid("The place cannot be read.", [FieldError("geometry", str(error))]) from error
    if isinstance(found, Problem):
        raise Invalid("The place cannot be used.", [FieldError("geometry", found.reason, code=found.code)])
    return found


def _disc_m2(accuracy_m: float | None) -> float:
    return max(POINT_AREA_M2, math.pi * (accuracy_m or 0.0) ** 2)


def _code_next(site: Site) -> str:
    """N-001 and so on, by the site."""
    codes = Patch.objects.filter(site=site, code__startswith=NEW_PATCH).values_list("code", flat=True)
    numbers = [int(code[len(NEW_PATCH) :]) for code in codes if code[len(NEW_PATCH) :].isdecimal()]
    return f"{NEW_PATCH}{max(numbers, default=0) + 1:03d}"
