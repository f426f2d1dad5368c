"""From raw rows to surveys that can be stored: every bad row is named, with the field, a code and a plain reason.

Rows with the same site, patch and date are one survey: one row may hold several components in numbered fields, and
several rows may hold one component each.
"""

from collections.abc import Sequence
from dataclasses import asdict, fields
from datetime import date
from typing import Any

from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.areas import geodesic_area_m2
from orders.sites.geofiles.cells import Findings
from orders.sites.geofiles.components import note_doubles, settled
from orders.sites.geofiles.days import days_of
from orders.sites.geofiles.drafts import Draft, DraftReader, Facts, Spellings, SurveyKey
from orders.sites.geofiles.mapping import FieldMapping, shared_columns
from orders.sites.geofiles.records import (
    Checked,
    KnownCodes,
    RawFile,
    RowWarning,
    SurveyComponent,
    SurveyRow,
)
from orders.sites.geofiles.resolving import resolve, unused_columns
from orders.sites.geofiles.telling import MESSAGE_CHARACTERS, names_within

# Worse than what a hand-held receiver gives in the open; about 5 m, from memory.
COARSE_POSITION_M = 5.0
# A given area may differ from the outline's by this share before it is mentioned (our choice).
AREA_DIFFERENCE = 0.05
NOT_USED = "These columns are not used: {}."


def check_rows(raw: RawFile, mapping: FieldMapping, known: KnownCodes, today: date) -> Checked:
    """Every row of the file checked; raises `MappingRefused` where the mapping does not fit the file as a whole."""
    fitted = resolve(mapping, raw.fields)
    findings = Findings()
    findings.warnings += _about_the_file(raw, fitted)
    days = days_of(raw.rows, fitted.row.get("observed_on"))
    reader = DraftReader(fitted, known, Spellings.of(known), today, findings, shared_columns(fitted), days)
    drafts = [reader.read(row) for row in raw.rows]
    findings.warnings += days.warnings()
    surveys = [_survey(group) for group in _by_survey(drafts)]
    return Checked(
        rows=tuple(survey for survey in surveys if survey is not None),
        errors=tuple(sorted(findings.errors, key=lambda found: found.row)),
        warnings=tuple(sorted(findings.warnings, key=lambda found: found.row)),
    )


def _about_the_file(raw: RawFile, mapping: FieldMapping) -> list[RowWarning]:
    warnings = []
    filled = {name for row in raw.rows for name, cell in row.attributes.items() if cell is not None}
    unused = [column for column in unused_columns(mapping, raw.fields) if column in filled]
    if unused:
        told = names_within(unused, MESSAGE_CHARACTERS - len(NOT_USED.format("")))
        warnings.append(RowWarning(0, "columns", "columns_not_read", NOT_USED.format(told)))
    if raw.position_error_m is None or raw.position_error_m > COARSE_POSITION_M:
        how_far = "by an unknown distance" if raw.position_error_m is None else f"by up to {raw.position_error_m:g} m"
        reason = f"The change from {raw.crs} to WGS 84 may move locations {how_far}."
        warnings.append(RowWarning(0, "geometry", "position_uncertain", reason))
    return warnings


def _by_survey(drafts: Sequence[Draft]) -> list[list[Draft]]:
    """Drafts of the same site, patch and date together, in the file's order; one without such a key stands alone."""
    groups: dict[SurveyKey | int, list[Draft]] = {}
    for position, draft in enumerate(drafts):
        groups.setdefault(draft.key or position, []).append(draft)
    return list(groups.values())


def _survey(group: Sequence[Draft]) -> SurveyRow | None:
    """One survey of its rows, or None after noting what is wrong with them."""
    geometry = _one_geometry(group)
    facts = _one_set_of_facts(group)
    area_m2 = _area_m2(group[0], geometry, facts) if geometry is not None else None
    drafts = [component for draft in group for component in draft.components]
    note_doubles(drafts)
    components: list[SurveyComponent | None] = []
    if area_m2 is not None:
        components = [settled(component, area_m2, facts.control_state) for component in drafts]
    key = group[0].key
    if key is None or geometry is None or area_m2 is None or any(draft.notes.bad for draft in group):
        return None
    return _survey_row(group, key, geometry, area_m2, facts, [part for part in components if part is not None])


def _survey_row(
    group: Sequence[Draft],
    key: SurveyKey,
    geometry: BaseGeometry,
    area_m2: float,
    facts: Facts,
    components: Sequence[SurveyComponent],
) -> SurveyRow:
    said: dict[str, Any] = {name: value for name, value in asdict(facts).items() if value is not None}
    said.pop("gross_area_m2", None)
    site_code, patch_code, observed_on = key
    return SurveyRow(
        rows=tuple(draft.notes.row.number for draft in group),
        site_code=site_code,
        patch_code=patch_code,
        observed_on=observed_on,
        geometry=geometry,
        area_m2=area_m2,
        components=tuple(components),
        **said,
    )


def _one_geometry(group: Sequence[Draft]) -> BaseGeometry | None:
    """The survey's location. Rows may leave it to one of them, but two that give one must agree."""
    if all(draft.notes.row.geometry is None and draft.notes.row.problem is None for draft in group):
        for draft in group:
            draft.notes.error("geometry", "geometry_missing", "The row has no location.")
    located = [(draft.notes, draft.geometry) for draft in group if draft.geometry is not None]
    if not located:
        return None
    first_notes, first = located[0]
    for notes, geometry in located[1:]:
        if not geometry.equals(first):
            notes.error(
                "geometry",
                "geometry_differs",
                f"The location is not that of row {first_notes.row.number}, which is the same patch and date.",
            )
    return first


def _one_set_of_facts(group: Sequence[Draft]) -> Facts:
    """What the rows say of the patch, put together; two that say different things are an error of the later one."""
    together: dict[str, Any] = {}
    told_by: dict[str, int] = {}
    for draft in group:
        for fact in fields(Facts):
            value = getattr(draft.facts, fact.name)
            if value is None:
                continue
            if together.setdefault(fact.name, value) != value:
                draft.notes.error(
                    fact.name,
                    "facts_differ",
                    f"{value} here, but {together[fact.name]} in row {told_by[fact.name]} for the same patch and date.",
                )
            told_by.setdefault(fact.name, draft.notes.row.number)
    return Facts(**together)


def _area_m2(draft: Draft, geometry: BaseGeometry, facts: Facts) -> float | None:
    """Of an outline, its own geodesic area; of a point, the area given."""
    given_m2 = facts.gross_area_m2
    if geometry.geom_type != "Point":
        area_m2 = geodesic_area_m2(geometry)
        if given_m2 is not None and abs(given_m2 - area_m2) > AREA_DIFFERENCE * area_m2:
            draft.notes.warn(
                "gross_area_m2",
                "area_differs",
                f"{given_m2:,.1f} m² was given; the outline holds {area_m2:,.1f} m², and that is used.",
            )
        return area_m2
    if given_m2 is None or given_m2 <= 0:
        draft.notes.error("gross_area_m2", "area_missing", "A point needs its area, more than 0.")
        return None
    return given_m2
