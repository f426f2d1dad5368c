"""What the page of matches is shown with."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.urls import NoReverseMatch, reverse

from orders.common.errors import FieldError, NotFound, Refusal
from orders.desk.intake.leaving import layers_told
from orders.desk.intake.match_form import COLUMNS_LISTED, FIXED, MOST_PLANTS, NUMBERED, Matcher, plants_of
from orders.desk.intake.words import SYSTEMS
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.matching import columns_unused, document_of
from orders.sites.models import SurveyFile
from orders.sites.survey_file_selectors import mappings_for, survey_mapping_get

# Where words that the program does not know yet can be added; the first page of each that there is.
SET_UP = {
    "site_code": ("setup-site-new", "setup-sites", "sites"),
    "species": ("setup-species-new", "setup-species"),
    "growth_form": (),
}


def shown_document(row: SurveyFile, saved: str) -> tuple[dict[str, Any], str]:
    """The mapping to begin with: a saved one where the address names it, else the file's own. And what it is called."""
    if not saved:
        return row.mapping or {"columns": {}}, ""
    try:
        found = survey_mapping_get(UUID(saved))
    except ValueError as error:
        raise NotFound("There is no such mapping.") from error
    document = document_of(mapping_from_document(found.mapping))
    return {**document, "layer": row.layer} if row.layer else document, found.name


def errors_by_name(refusal: Refusal | None) -> dict[str, list[str]]:
    """By the fact that they are about: `columns.species_1.format` is about species_1."""
    found: dict[str, list[str]] = {}
    for error in refusal.errors if refusal else ():
        field, message = _place_of(error)
        parts = field.split(".")
        name = parts[1] if parts[0] == "columns" and len(parts) > 1 else parts[0]
        found.setdefault(name, []).append(message)
    return found


def _place_of(error: FieldError) -> tuple[str, str]:
    """What is wrong with the mapping as a whole begins with its place where it has one."""
    place, colon, message = error.message.partition(": ")
    is_placed = error.field == "mapping" and place.startswith("columns.") and bool(colon)
    return (place, message) if is_placed else (error.field, error.message)


def match_told(
    row: SurveyFile, matcher: Matcher, document: dict[str, Any], errors: Mapping[str, list[str]], *, saved: str = ""
) -> dict[str, Any]:
    found = matcher.found
    plants = plants_of(document.get("columns", {}))
    sections = matcher.sections(document, errors)
    return {
        "file": row,
        "found": found,
        **layers_told(row),
        "sections": sections,
        "open_words": sum(fact.open_words for section in sections for fact in section.rows),
        "plants": plants,
        "may_add_plant": plants < MOST_PLANTS,
        "fixed": FIXED,
        "numbered": NUMBERED,
        "crs": document.get("crs", ""),
        "asks_crs": found.is_table or not found.crs or bool(document.get("crs")),
        "crs_errors": errors.get("crs", []),
        "systems": SYSTEMS,
        "close_tracks": bool(document.get("close_tracks")),
        "unused": columns_unused(found, document.get("columns", {})),
        "asks_commas": found.has_decimal_commas or bool(document.get("decimal_comma")),
        "decimal_comma": bool(document.get("decimal_comma")),
        "has_lines": any("Line" in kind for kind, _ in found.shapes),
        "types_columns": len(found.columns) > COLUMNS_LISTED,
        "mappings": mappings_for(found.fields),
        "saved": saved,
        "is_suggestion": row.matched_at is None and not saved,
        "other_errors": [text for name in ("mapping", "name", "") for text in errors.get(name, ())],
        "set_up": {name: address for name, names in SET_UP.items() if (address := _first_address(names))},
        "here": f"{reverse('survey-file', args=[row.public_id])}",
    }


def _first_address(names: tuple[str, ...]) -> str:
    for name in names:
        try:
            return reverse(name)
        except NoReverseMatch:
            continue
    return ""
