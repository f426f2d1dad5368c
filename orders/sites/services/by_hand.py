"""Surveys that somebody types in: the words of a survey file's row, judged by the same checks as a file.

Each component goes through the checks as a row of its own of one survey, so that what is wrong names its number.
"""

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shapely.geometry.base import BaseGeometry

from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.convert import known_codes, patch_said
from orders.sites.geofiles.checks import check_rows
from orders.sites.geofiles.mapping import IDENTITY
from orders.sites.geofiles.outlines import Problem
from orders.sites.geofiles.records import Cell, RawFile, RawRow, RowFinding, SurveyRow
from orders.sites.geofiles.shape_text import shape_of_text
from orders.sites.geofiles.vocabulary import COMPONENT, ROW
from orders.sites.models import Patch, Site, Survey
from orders.sites.services.masters import patch_edit
from orders.sites.services.survey_writes import patch_write, survey_write
from orders.sites.services.surveys import survey_void

MOST_COMPONENTS = 20
OF_THE_KEY = ("site_code", "patch_code")
OF_EACH_ROW = (*OF_THE_KEY, "observed_on", "observer")
NOT_ADDED = "The survey was not added."


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """`facts` and `components` are named as in a survey file; `outline` is GeoJSON or well-known text."""

    facts: Mapping[str, Cell]
    components: Sequence[Mapping[str, Cell]]
    outline: str


@dataclass(frozen=True)
class Entered:
    """A survey that was added, and what a person should look at."""

    survey: Survey
    warnings: tuple[str, ...]


@writing()
def patch_add(*, site: Site, code: str, sheet: Sheet, stamp: Stamp) -> Entered:
    """A new patch with its first survey: without one nobody knows where it is."""
    found = Findings()
    wanted = code.strip()
    taken = Patch.objects.filter(site=site, code=wanted).exists()
    found.need(not taken, "code", f"{site.code} has a patch {wanted} already.")
    row, warnings = _checked(site, wanted, sheet, stamp, found)
    patch = patch_write(site=site, code=row.patch_code, said=patch_said(row), stamp=stamp)
    return Entered(survey_write(row=row, patch=patch, stamp=stamp), warnings)


@writing()
def survey_add(*, patch: Patch, sheet: Sheet, stamp: Stamp) -> Entered:
    """Another survey of a patch; those before it stay."""
    _stands_check(patch)
    found = Findings()
    row, warnings = _checked(patch.site, patch.code, sheet, stamp, found)
    if patch.surveys.filter(observed_on=row.observed_on, voided_at__isnull=True).exists():
        message = f"{patch} has a survey of {row.observed_on} already. Correct that one, or give another day."
        raise Invalid(NOT_ADDED, [FieldError("observed_on", message, code="unique")])
    survey = survey_write(row=row, patch=patch, stamp=stamp)
    _patch_follow(patch, survey, stamp)
    return Entered(survey, warnings)


@writing()
def survey_correct(*, survey: Survey, sheet: Sheet, stamp: Stamp) -> Entered:
    """Void a wrong survey with the reason and enter it anew, both or neither."""
    _stands_check(survey.patch)
    survey_void(survey=survey, stamp=stamp)
    return survey_add(patch=survey.patch, sheet=sheet, stamp=stamp)


def patch_code_next(site: Site) -> str:
    """A code to propose: the site's own manner counted on, else P-001."""
    codes = Patch.objects.filter(site=site).values_list("code", flat=True)
    counted: dict[str, list[str]] = {}
    for code in codes:
        stem = code.rstrip("0123456789")
        if stem != code:
            counted.setdefault(stem, []).append(code[len(stem) :])
    if not counted:
        return "P-001"
    stem, numbers = max(counted.items(), key=lambda held: (len(held[1]), held[0]))
    highest = max(numbers, key=int)
    return f"{stem}{int(highest) + 1:0{len(highest)}d}"


def _stands_check(patch: Patch) -> None:
    if patch.ended_on is not None:
        raise WrongState(f"{patch} ended on {patch.ended_on}. Survey the patches that stand in its place.")


def _patch_follow(patch: Patch, survey: Survey, stamp: Stamp) -> None:
    """The newest survey's word on how the control stands becomes the patch's own."""
    state = survey.patch_said.get("control_state")
    is_newest = not patch.surveys.filter(voided_at__isnull=True, observed_on__gt=survey.observed_on).exists()
    if state and state != patch.control_state and is_newest:
        patch_edit(patch=patch, expected=patch.version, control_state=state, stamp=stamp)


def _checked(site: Site, code: str, sheet: Sheet, stamp: Stamp, found: Findings) -> tuple[SurveyRow, tuple[str, ...]]:
    """The row, or a refusal that names each field; the number of a component stands beside its fields."""
    count = len(sheet.components)
    found.need(count <= MOST_COMPONENTS, "components", f"A survey holds {MOST_COMPONENTS} components at most.")
    shape = shape_of_text(sheet.outline)
    if isinstance(shape, Problem):
        found.need(False, "outline", shape.reason)
        found.refuse(NOT_ADDED)
        raise AssertionError  # refused above
    rows = [_raw(number, facts, site, code, sheet, shape) for number, facts in enumerate(sheet.components or [{}])]
    raw = RawFile(format="by hand", layer=None, crs="EPSG:4326", fields=(*ROW, *COMPONENT), rows=tuple(rows))
    known = known_codes()
    here = dataclasses.replace(known, sites={site.code: known.sites[site.code]})
    checked = check_rows(raw, IDENTITY, here, stamp.local_date(site.time_zone))
    found.errors += _errors(checked.errors)
    found.refuse(NOT_ADDED)
    return checked.rows[0], tuple(dict.fromkeys(warning.reason for warning in checked.warnings))


def _raw(
    number: int, component: Mapping[str, Cell], site: Site, code: str, sheet: Sheet, shape: BaseGeometry
) -> RawRow:
    """The first row tells the facts and the place; the others what says that they belong to it."""
    told = sheet.facts if number == 0 else {name: sheet.facts.get(name) for name in OF_EACH_ROW}
    facts: dict[str, Any] = {**told, **component, "site_code": site.code, "patch_code": code}
    return RawRow(number + 1, shape if number == 0 else None, facts)


def _errors(errors: Sequence[RowFinding]) -> list[FieldError]:
    told = []
    for error in errors:
        if error.field in COMPONENT:
            told.append(FieldError(f"components.{error.field}", error.reason, error.row, error.code))
        elif error.row == 1:
            told.append(FieldError(_named(error.field), error.reason, None, error.code))
    return told


def _named(field: str) -> str:
    return {"geometry": "outline", "patch_code": "code"}.get(field, field)
