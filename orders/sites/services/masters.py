"""Sites and their checklists, patches, and the small vocabularies of this stage."""

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import shapely

from orders.common.errors import Invalid
from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.geofiles import areas
from orders.sites.models import (
    ChecklistAnswer,
    ChecklistQuestion,
    GrowthForm,
    Jurisdiction,
    Patch,
    Site,
)


@writing()
def growth_form_add(*, stamp: Stamp, code: str, name: str, fruits: bool) -> GrowthForm:
    return row_add(GrowthForm(code=code, name=name, fruits=fruits), stamp=stamp, verb="growth_form_add")


@writing()
def jurisdiction_add(*, stamp: Stamp, code: str, name: str) -> Jurisdiction:
    return row_add(Jurisdiction(code=code, name=name), stamp=stamp, verb="jurisdiction_add")


@dataclass(frozen=True)
class EmergencyPlan:
    """How help comes, and where it is. `meeting_*` is where an ambulance is met, degrees of WGS 84: both or neither."""

    nearest_medical_help: str = ""
    medical_phone: str = ""
    medical_address: str = ""
    meeting_lon: float | None = None
    meeting_lat: float | None = None
    emergency_access: str = ""
    radio_or_phone: str = ""


NO_PLAN = EmergencyPlan()
OWN_FACTS = ("name", "jurisdiction", "time_zone", "boundary", "drive_minutes", "drive_miles")
SITE_EDITED = frozenset({*asdict(NO_PLAN), "access_notes", "worker_protection_rules", *OWN_FACTS})
BOX = ("min_lon", "min_lat", "max_lon", "max_lat")


@writing()
def site_add(
    *,
    stamp: Stamp,
    code: str,
    name: str,
    jurisdiction: Jurisdiction,
    time_zone: str,
    boundary: dict[str, Any],
    drive_minutes: int,
    drive_miles: Decimal,
    access_notes: str = "",
    plan: EmergencyPlan = NO_PLAN,
    worker_protection_rules: bool = False,
) -> Site:
    """Add a site. The boundary is a GeoJSON Polygon or MultiPolygon in WGS 84; it is stored oriented and rounded."""
    found = Findings()
    _meeting_check(found, plan.meeting_lon, plan.meeting_lat)
    found.need(time_zone_known(time_zone), "time_zone", f"{time_zone} is no IANA time zone.")
    _jurisdiction_check(found, jurisdiction)
    row = Site(
        code=code,
        name=name,
        jurisdiction=jurisdiction,
        time_zone=time_zone,
        drive_minutes=drive_minutes,
        drive_miles=drive_miles,
        access_notes=access_notes,
        worker_protection_rules=worker_protection_rules,
        **asdict(plan),
    )
    try:
        boundary_put(row, boundary)
    except Invalid as refusal:
        found.errors += refusal.errors
        row.min_lon = row.min_lat = row.max_lon = row.max_lat = 0.0  # never stored: the row is refused
    return row_add(row, stamp=stamp, verb="site_add", findings=found)


@writing()
def site_edit(*, site: Site, values: Mapping[str, Any], expected: int, stamp: Stamp) -> Site:
    """Change anything of a site but its code, which files name. `expected` is the version that was read."""
    found, told = Findings(), dict(values)
    for name in sorted(set(told) - SITE_EDITED):
        found.need(False, name, "cannot be changed here")
    lon, lat = (told.get(name, getattr(site, name)) for name in ("meeting_lon", "meeting_lat"))
    _meeting_check(found, lon, lat)
    zone = told.get("time_zone", site.time_zone)
    found.need(time_zone_known(zone), "time_zone", f"{zone} is no IANA time zone.")
    _jurisdiction_check(found, told.get("jurisdiction"))
    if "boundary" in told:
        told |= _boundary_values(found, told["boundary"])
    found.refuse("The site was not changed.")
    return row_edit(site, stamp=stamp, verb="site_edit", expected=expected, values=told)


def _boundary_values(found: Findings, boundary: dict[str, Any]) -> dict[str, Any]:
    """The boundary as it is stored, with its box."""
    proposed = Site()
    try:
        boundary_put(proposed, boundary)
    except Invalid as refusal:
        found.errors += refusal.errors
        return {}
    return {name: getattr(proposed, name) for name in ("boundary", *BOX)}


def _meeting_check(found: Findings, lon: float | None, lat: float | None) -> None:
    found.need((lon is None) == (lat is None), "meeting_lat", "Give both longitude and latitude, or neither.")
    found.need(lon is None or -180 <= lon <= 180, "meeting_lon", "Must be degrees from -180 to 180.")
    found.need(lat is None or -90 <= lat <= 90, "meeting_lat", "Must be degrees from -90 to 90.")


def _jurisdiction_check(found: Findings, jurisdiction: Jurisdiction | None) -> None:
    if jurisdiction is not None:
        gone = Jurisdiction.objects.filter(pk=jurisdiction.pk, is_active=False).exists()
        found.need(not gone, "jurisdiction", f"{jurisdiction.name} is no longer in use.")


def time_zone_known(name: str) -> bool:
    """A name of the IANA list, such as America/New_York."""
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return "/" in name


def boundary_put(site: Site, boundary: dict[str, Any]) -> None:
    """Set the boundary in its stored form, and the box around it. Nothing is saved."""
    found = Findings()
    try:
        outline = areas.from_geojson(json.dumps(boundary))
    except (TypeError, ValueError, shapely.errors.ShapelyError) as error:
        found.need(False, "boundary", f"Not a GeoJSON geometry: {error}.")
        found.refuse("The boundary cannot be used.")
    problem = _outline_problem(outline)
    found.need(not problem, "boundary", problem)
    found.refuse("The boundary cannot be used.")
    stored = areas.normalise(outline)
    site.boundary = json.loads(areas.to_geojson(stored))
    box = areas.bounds(stored)
    site.min_lon, site.min_lat, site.max_lon, site.max_lat = box.west, box.south, box.east, box.north


def _outline_problem(outline: Any) -> str:
    if outline.is_empty or outline.geom_type not in {"Polygon", "MultiPolygon"}:
        return "Must be a Polygon or a MultiPolygon that is not empty."
    west, south, east, north = outline.bounds
    if not (-180 <= west <= east <= 180 and -90 <= south <= north <= 90):
        return "Coordinates must be degrees: longitude first, then latitude."
    if not outline.is_valid:
        return f"The outline is not sound: {shapely.is_valid_reason(outline)} (longitude, latitude)."
    return ""


@writing()
def checklist_question_add(*, stamp: Stamp, code: str, question: str, sort: int) -> ChecklistQuestion:
    row = ChecklistQuestion(code=code, question=question, sort=sort)
    return row_add(row, stamp=stamp, verb="checklist_question_add")


@writing()
def checklist_answer(
    *,
    stamp: Stamp,
    site: Site,
    question: ChecklistQuestion,
    answer: str,
    stops_work: bool = False,
    valid_until: date | None = None,
) -> ChecklistAnswer:
    """Answer a question for a site. The answer before stays on record; this one counts from now on."""
    found = Findings()
    found.need(bool(answer.strip()), "answer", "Say what was found out, and from whom.")
    answered_on = stamp.local_date(site.time_zone)
    still_good = valid_until is None or valid_until >= answered_on
    found.need(still_good, "valid_until", f"{valid_until} is before the day of the answer, {answered_on}.")
    row = ChecklistAnswer(
        site=site,
        question=question,
        answer=answer,
        stops_work=stops_work,
        valid_until=valid_until,
        answered_by=stamp.by,
        answered_at=stamp.at,
    )
    return row_add(row, stamp=stamp, verb="checklist_answer", findings=found)


@writing()
def patch_edit(
    *,
    stamp: Stamp,
    patch: Patch,
    expected: int,
    name: str | None = None,
    target_cover: float | None = None,
    control_state: str | None = None,
) -> Patch:
    """Change what is wanted of a patch; None leaves a value. `expected` is the version that was read."""
    found = Findings()
    share = target_cover is None or 0 <= target_cover <= 1
    found.need(share, "target_cover", "Must be a share of the ground, 0 to 1.")
    found.refuse("The patch was not changed.")
    asked = {"name": name, "target_cover": target_cover, "control_state": control_state}
    values = {field: value for field, value in asked.items() if value is not None}
    return row_edit(patch, stamp=stamp, verb="patch_edit", expected=expected, values=values)
