"""What is known of a patch shared out among its pieces, or put together from several: nothing was seen anew."""

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from shapely.geometry.base import BaseGeometry

from orders.sites.convert import SAME_COMPONENT_FACTS, SAME_FACTS
from orders.sites.cutting import joined
from orders.sites.geofiles.areas import from_geojson, geodesic_area_m2, normalise
from orders.sites.geofiles.drafts import NAME_CHARACTERS, NOTES_CHARACTERS
from orders.sites.geofiles.records import SurveyComponent as ComponentRow
from orders.sites.geofiles.records import SurveyRow
from orders.sites.models import Survey, SurveyComponent

COUNTED = ("stems_small", "stems_medium", "stems_large", "host_trees")
ANSWERED = ("wet_ground", "desirable_tree_roots", "evergreen_natives", "spring_ephemerals")
# The word that counts where several are said: the one that asks for more care.
ANSWERS = ("yes", "unknown", "no")
GROUND_ORDER = ("obstructed", "rough", "unknown", "even")
CONDITION_ORDER = ("fruit", "flowers", "unknown", "none")

Kind = tuple[int, int]
Cover = tuple[float, float, float]


@dataclass(frozen=True)
class Made:
    """A survey that follows from others, with the covers that one percent cannot say."""

    row: SurveyRow
    covers: Mapping[Kind, Cover]


def shape_of(survey: Survey) -> BaseGeometry:
    return from_geojson(json.dumps(survey.geometry))


def shared_out(survey: Survey, pieces: Sequence[tuple[str, BaseGeometry]], note: str) -> list[Made]:
    """The survey of each piece, (code, outline): areas by its share of the ground, stems and host trees in whole
    numbers that sum to those counted; covers as they were."""
    shapes = [normalise(shape) for _, shape in pieces]
    areas = [geodesic_area_m2(shape) for shape in shapes]
    parts = list(survey.components.all())
    counts = {part.pk: _counts(part, areas) for part in parts}
    covers = {_kind(part): (part.cover_low, part.cover_likely, part.cover_high) for part in parts}
    base = _base(survey)
    return [
        Made(
            replace(
                base,
                patch_code=code,
                geometry=shapes[number],
                area_m2=areas[number],
                components=tuple(_piece(part, areas, number, counts[part.pk][number]) for part in parts),
                notes=_noted(note, survey.notes),
            ),
            covers,
        )
        for number, (code, _) in enumerate(pieces)
    ]


def put_together(surveys: Sequence[Survey], code: str, note: str) -> Made:
    """One survey of all: covers weighted by infested area, stems summed, and of the facts the one that asks for more
    care."""
    shape = joined(shape_of(survey) for survey in surveys)
    area_m2 = geodesic_area_m2(shape)
    groups: dict[Kind, list[SurveyComponent]] = defaultdict(list)
    for survey in surveys:
        for part in survey.components.all():
            groups[_kind(part)].append(part)
    alive = {kind: parts for kind, parts in groups.items() if any(part.infested_area_m2 for part in parts)}
    kept = alive or groups
    newest = max(surveys, key=lambda survey: (survey.observed_on, survey.pk))
    row = replace(
        _base(newest),
        patch_code=code,
        observer=", ".join(dict.fromkeys(survey.observer for survey in surveys))[:NAME_CHARACTERS],
        geometry=shape,
        area_m2=area_m2,
        components=tuple(_together(parts, area_m2) for parts in kept.values()),
        notes=_noted(note, *(survey.notes for survey in surveys)),
        **_facts(surveys),
    )
    return Made(row, {kind: _cover(parts) for kind, parts in kept.items()})


def _base(survey: Survey) -> SurveyRow:
    facts: dict[str, Any] = {name: getattr(survey, name) for name in SAME_FACTS}
    return SurveyRow(
        rows=(1,),
        site_code=survey.patch.site.code,
        patch_code=survey.patch.code,
        observed_on=survey.observed_on,
        observer=survey.observer,
        geometry=shape_of(survey),
        area_m2=survey.gross_area_m2,
        components=(),
        **facts,
    )


def _noted(note: str, *before: str) -> str:
    return "\n".join([note, *(text for text in dict.fromkeys(before) if text)])[:NOTES_CHARACTERS]


def _kind(part: SurveyComponent) -> Kind:
    return part.species_id, part.growth_form_id


def _component(part: SurveyComponent, infested_m2: float, area_m2: float, **changed: Any) -> ComponentRow:
    facts: dict[str, Any] = {name: getattr(part, name) for name in SAME_COMPONENT_FACTS} | changed
    facts["infested_area_m2"] = infested_m2
    is_told = bool(part.cover_as_entered)
    by_class = part.cover_is_class and "cover_percent" not in changed
    return ComponentRow(
        species_code=part.species.code,
        growth_form=part.growth_form.code,
        infested_percent=100 * infested_m2 / area_m2,
        cover_class=part.cover_as_entered if by_class else None,
        cover_scheme=part.cover_scheme if by_class else None,
        **{"cover_percent": round(100 * part.cover_likely, 6) if is_told and not by_class else None, **facts},
    )


def _piece(part: SurveyComponent, areas: Sequence[float], number: int, counts: Mapping[str, int]) -> ComponentRow:
    share = areas[number] / sum(areas)
    infested_m2 = min(areas[number], part.infested_area_m2 * share)
    return _component(part, infested_m2, areas[number], **counts)


def _counts(part: SurveyComponent, areas: Sequence[float]) -> list[dict[str, int]]:
    """Of each piece the stems and hosts that were counted, shared by area."""
    shared = {name: whole_shares(getattr(part, name), areas) for name in COUNTED if getattr(part, name) is not None}
    return [{name: values[number] for name, values in shared.items()} for number in range(len(areas))]


def whole_shares(total: int, weights: Sequence[float]) -> list[int]:
    """Whole numbers near the shares that sum to the total: the largest remainders are rounded up."""
    exact = [total * weight / sum(weights) for weight in weights]
    shares = [int(value) for value in exact]
    by_remainder = sorted(range(len(exact)), key=lambda number: (shares[number] - exact[number], number))
    for number in by_remainder[: total - sum(shares)]:
        shares[number] += 1
    return shares


def _together(parts: Sequence[SurveyComponent], area_m2: float) -> ComponentRow:
    infested_m2 = min(area_m2, sum(part.infested_area_m2 for part in parts))
    _, likely, _ = _cover(parts)
    summed: dict[str, Any] = {name: _sum(getattr(part, name) for part in parts) for name in COUNTED}
    highest = {name: _most(getattr(part, name) for part in parts) for name in ("height_m", "cut_height_m")}
    return _component(
        parts[0],
        infested_m2,
        area_m2,
        **summed,
        **highest,
        fertile=_first(ANSWERS, (part.fertile for part in parts)),
        reproductive_condition=_first(CONDITION_ORDER, (part.reproductive_condition for part in parts)),
        cover_percent=round(100 * likely, 6) if infested_m2 else None,
    )


def _cover(parts: Sequence[SurveyComponent]) -> Cover:
    weights = [part.infested_area_m2 for part in parts]
    if not sum(weights):
        return 0.0, 0.0, 0.0
    told = [(part.cover_low, part.cover_likely, part.cover_high) for part in parts]
    low, likely, high = (
        sum(weight * cover[level] for weight, cover in zip(weights, told, strict=True)) / sum(weights)
        for level in range(3)
    )
    return low, likely, high


def _facts(surveys: Sequence[Survey]) -> dict[str, Any]:
    told: dict[str, Any] = {name: _first(ANSWERS, (getattr(one, name) for one in surveys)) for name in ANSWERED}
    told["ground"] = _first(GROUND_ORDER, (one.ground for one in surveys))
    told["slope_deg"] = _most(one.slope_deg for one in surveys)
    told["minutes_from_gate"] = _most(one.minutes_from_gate for one in surveys)
    near = [one.distance_to_water_m for one in surveys if one.distance_to_water_m is not None]
    told["distance_to_water_m"] = min(near, default=None)
    return told


def _first(order: Sequence[str], said: Iterable[str]) -> str:
    return min(said, key=order.index)


def _most(values: Iterable[float | None]) -> float | None:
    return max((value for value in values if value is not None), default=None)


def _sum(values: Iterable[int | None]) -> int | None:
    known = [value for value in values if value is not None]
    return sum(known) if known else None
