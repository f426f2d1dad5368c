"""Between rows of the database and survey files: the codes that a file is checked against, checked rows as rows of the
database, and surveys as a file again."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from estimating.cover_classes import SCHEMES, cover_range
from orders.common.stamp import Stamp
from orders.sites.geofiles import areas
from orders.sites.geofiles.records import FileRefused, KnownCodes, KnownSite, RowFinding, SurveyRow
from orders.sites.geofiles.records import SurveyComponent as ComponentRow
from orders.sites.geofiles.telling import MESSAGE_CHARACTERS
from orders.sites.models import CONTROL_STATES, GrowthForm, Site, Species, Survey, SurveyComponent

NO_COVER = (0.0, 0.0, 0.0)
# Columns that a survey file and a survey row call by the same name.
SAME_FACTS = (
    "slope_deg",
    "ground",
    "wet_ground",
    "distance_to_water_m",
    "desirable_tree_roots",
    "evergreen_natives",
    "spring_ephemerals",
    "minutes_from_gate",
    "notes",
)
SAME_COMPONENT_FACTS = (
    "infested_area_m2",
    "stems_small",
    "stems_medium",
    "stems_large",
    "height_m",
    "cut_height_m",
    "host_trees",
    "fertile",
    "reproductive_condition",
)
# What a row says of the patch itself.
OF_THE_PATCH = ("patch_name", "target_cover_percent", "control_state")


def known_codes() -> KnownCodes:
    """The program's own codes as they stand, for checking a file."""
    return KnownCodes(
        sites={
            site.code: KnownSite(boundary=_boundary(site), time_zone=site.time_zone)
            for site in Site.objects.order_by("code")
        },
        species={kind.code: (kind.scientific_name, kind.common_name) for kind in Species.objects.order_by("code")},
        growth_forms=frozenset(GrowthForm.objects.values_list("code", flat=True)),
        cover_schemes={scheme: frozenset(entry.code for entry in classes) for scheme, classes in SCHEMES.items()},
        control_states=frozenset(code for code, _ in CONTROL_STATES),
    )


def _boundary(site: Site) -> Any:
    return areas.from_geojson(json.dumps(site.boundary))


@dataclass(frozen=True)
class Vocabulary:
    """Keys of the rows that components point at, by code."""

    species: Mapping[str, int]
    growth_forms: Mapping[str, int]

    @classmethod
    def read(cls) -> "Vocabulary":
        return cls(
            species=dict(Species.objects.values_list("code", "pk")),
            growth_forms=dict(GrowthForm.objects.values_list("code", "pk")),
        )


def survey_of(row: SurveyRow, *, stamp: Stamp) -> Survey:
    """The survey of a checked row, not yet saved and without its patch."""
    box = areas.bounds(row.geometry)
    return Survey(
        observed_on=row.observed_on,
        observer=row.observer,
        geometry=json.loads(areas.to_geojson(row.geometry)),
        min_lon=box.west,
        min_lat=box.south,
        max_lon=box.east,
        max_lat=box.north,
        gross_area_m2=row.area_m2,
        patch_said=patch_said(row),
        fingerprint=row.fingerprint(),
        source_row=row.rows[0],
        recorded_at=stamp.at,
        **{name: getattr(row, name) for name in SAME_FACTS},
    )


def patch_said(row: SurveyRow) -> dict[str, Any]:
    """What the row says of the patch itself; what it does not say is absent."""
    said = {name: getattr(row, name) for name in OF_THE_PATCH}
    return {name: value for name, value in said.items() if value not in (None, "")}


def components_of(row: SurveyRow, survey: Survey, known: Vocabulary) -> list[SurveyComponent]:
    """The components of a checked row, not yet saved."""
    return [_component_of(component, survey, known) for component in row.components]


def _component_of(component: ComponentRow, survey: Survey, known: Vocabulary) -> SurveyComponent:
    low, likely, high = cover_of(component)
    return SurveyComponent(
        survey=survey,
        species_id=known.species[component.species_code],
        growth_form_id=known.growth_forms[component.growth_form],
        cover_low=low,
        cover_likely=likely,
        cover_high=high,
        cover_as_entered=_cover_as_entered(component),
        cover_is_class=component.cover_class is not None,
        cover_scheme=component.cover_scheme or "",
        **{name: getattr(component, name) for name in SAME_COMPONENT_FACTS},
    )


def cover_of(component: ComponentRow) -> tuple[float, float, float]:
    """Low, likely and high cover as fractions. A percent is taken as it was seen; a class holds its limits and middle;
    where nothing is infested nothing need be told."""
    if component.cover_class is not None and component.cover_scheme is not None:
        return cover_range(component.cover_scheme, component.cover_class)
    if component.cover_percent is None:
        return NO_COVER
    fraction = component.cover_percent / 100
    return fraction, fraction, fraction


def _cover_as_entered(component: ComponentRow) -> str:
    if component.cover_class is not None:
        return component.cover_class
    return "" if component.cover_percent is None else f"{component.cover_percent:g}%"


def finding_of(found: RowFinding) -> dict[str, Any]:
    """One finding as it is kept and told; row None is the file as a whole."""
    return {
        "row": found.row or None,
        "line": found.line,
        "field": found.field,
        "code": found.code,
        "message": _message(found.reason),
    }


def file_refusal_of(refused: FileRefused) -> dict[str, Any]:
    """A refusal of the whole file, with the names to choose from where there is a choice (layers, columns)."""
    told: dict[str, Any] = {"row": None, "line": None, "field": "file", "code": refused.code}
    if refused.code == "mapping":
        told["field"] = "mapping"
    told["message"] = _message(refused.message)
    if refused.names:
        told["names"] = [_message(name) for name in refused.names]
    return told


def _message(text: str) -> str:
    """Messages quote what strangers wrote: held short, and without the one character that PostgreSQL cannot keep."""
    clean = text.replace("\x00", "\N{REPLACEMENT CHARACTER}")
    return clean if len(clean) <= MESSAGE_CHARACTERS else f"{clean[: MESSAGE_CHARACTERS - 1]}…"


def finding_words(found: Mapping[str, Any]) -> str:
    """`row 5 (line 7), cover_percent: ...`; without a row, the file as a whole."""
    line = f" (line {found['line']})" if found["line"] else ""
    where = f"row {found['row']}{line}" if found["row"] else "file"
    field = "" if found["field"] == where else f", {found['field']}"
    return f"{where}{field}: {found['message']}"


def survey_export(surveys: Iterable[Survey]) -> str:
    """A GeoJSON feature collection in our own column names, which the import reads back as the same surveys."""
    features = [
        {"type": "Feature", "properties": columns, "geometry": survey.geometry}
        for survey, columns in survey_columns(surveys)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}, ensure_ascii=False, allow_nan=False)


def survey_columns(surveys: Iterable[Survey]) -> list[tuple[Survey, dict[str, Any]]]:
    """Each survey in our own column names; all have the same columns, as many plants as the fullest of them."""
    listed = list(surveys)
    components = [list(survey.components.all()) for survey in listed]
    groups = max((len(found) for found in components), default=1)
    return [
        (survey, {**_survey_columns(survey), **_component_columns(found, groups)})
        for survey, found in zip(listed, components, strict=True)
    ]


def _survey_columns(survey: Survey) -> dict[str, Any]:
    return {
        "site_code": survey.patch.site.code,
        "patch_code": survey.patch.code,
        "observed_on": survey.observed_on.isoformat(),
        "observer": survey.observer,
        "gross_area_m2": survey.gross_area_m2,
        **{name: survey.patch_said.get(name) for name in OF_THE_PATCH},
        **{name: getattr(survey, name) for name in SAME_FACTS},
    }


def _component_columns(components: list[SurveyComponent], groups: int) -> dict[str, Any]:
    """Columns with the number of their group behind the name. Groups that a survey does not fill are blank, so that
    every feature has every column."""
    told = [_component_facts(component) for component in components]
    names = ("species", "growth_form", "cover_percent", "cover_class", "cover_scheme", *SAME_COMPONENT_FACTS)
    blank: dict[str, Any] = dict.fromkeys(names)
    return {
        f"{name}_{number}": value
        for number, facts in enumerate([*told, *[blank] * (groups - len(told))], start=1)
        for name, value in facts.items()
    }


def _component_facts(component: SurveyComponent) -> dict[str, Any]:
    by_class = component.cover_is_class
    told = bool(component.cover_as_entered)
    return {
        "species": component.species.code,
        "growth_form": component.growth_form.code,
        "cover_percent": round(component.cover_likely * 100, 9) if told and not by_class else None,
        "cover_class": component.cover_as_entered if by_class else None,
        "cover_scheme": component.cover_scheme if by_class else None,
        **{name: getattr(component, name) for name in SAME_COMPONENT_FACTS},
    }
