"""What the facts tell of each field: a start for whoever signs. Nothing is guessed that no fact tells."""

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from django.conf import settings

from orders.sites.models import SurveyComponent
from orders.supplies.amounts import MILLIGRAMS, small_unit
from orders.workorders.models import BatchPart, WeatherCheck
from orders.workorders.records.applies import certificates, people_not_certified
from orders.workorders.records.groups import RecordGroup

M2_PER_ACRE = 4046.8564224  # international acre, exact
UL_PER_L = 1_000_000


def record_draft(group: RecordGroup) -> dict[str, Any]:
    """Values by field code, as they are signed; a field without a fact is left out."""
    values = {
        "requester": settings.PROGRAM_NAME,
        "location": _location(group),
        "use_site": ", ".join(sorted({row.prescription.method.name for row in group.applications if row.prescription})),
        "target_pest": ", ".join(_species(group)),
        "date": group.work_date.isoformat(),
        "start_time": group.started_at.isoformat(),
        "end_time": group.ended_at.isoformat(),
        "applicator": group.responsible.name,
        "noncertified_applicator": ", ".join(people_not_certified(group)),
        "equipment": ", ".join(sorted({row.equipment for row in group.applications if row.equipment})),
        **_area(group),
        **_products(group),
        **_license(group),
        **dict(_weather(group)),
    }
    return {code: value for code, value in values.items() if value not in ("", {}, None)}


def _location(group: RecordGroup) -> str:
    patches = sorted({row.prescription.patch.code for row in group.applications if row.prescription})
    return ": ".join([f"{group.site.name} ({group.site.code})", *([", ".join(patches)] if patches else [])])


def _species(group: RecordGroup) -> list[str]:
    surveys = {row.prescription.estimate.survey_id for row in group.applications if row.prescription}
    seen = SurveyComponent.objects.filter(survey__in=surveys).order_by("species__common_name")
    return list(seen.values_list("species__common_name", flat=True).distinct())


def _area(group: RecordGroup) -> dict[str, Any]:
    areas = [row.area_m2 for row in group.applications]
    if any(area is None for area in areas):
        return {}
    return {"area_treated": {"value": f"{sum(filter(None, areas)) / M2_PER_ACRE:.3f}", "unit": "acre"}}


def _products(group: RecordGroup) -> dict[str, Any]:
    parts = list(group.batch.parts.all())
    share = Decimal(group.volume_ul) / Decimal(group.batch.volume_ul)
    numbers = {part.product.code: part.product.registration_number for part in parts}
    return {
        "product": {part.product.code: part.product.name for part in parts},
        "registration_number": {code: number for code, number in numbers.items() if number},
        "amount": dict(_amounts(parts, share)),
        "rate": {part.product.code: _rate(part, group.batch.volume_ul) for part in parts},
    }


def _amounts(parts: Iterable[BatchPart], share: Decimal) -> Iterator[tuple[str, dict[str, str]]]:
    """The part of what went into the mix that was put out, in the unit that was typed."""
    for part in parts:
        value = (part.entered_value * share).quantize(Decimal("0.0001")).normalize()
        yield part.product.code, {"value": f"{value:f}", "unit": part.entered_unit}


def _rate(part: BatchPart, volume_ul: int) -> str:
    if small_unit(part.entered_unit) == MILLIGRAMS:
        return f"{part.amount / 1_000 / (volume_ul / UL_PER_L):.2f} g/L"
    return f"{part.amount / volume_ul * 100:.2f}%"


def _license(group: RecordGroup) -> dict[str, str]:
    held = certificates(group).get(group.key.responsible_id)
    return {"license_number": held.number} if held else {}


def _weather(group: RecordGroup) -> Iterator[tuple[str, Any]]:
    """The first that was measured for the mix there on that day, else for the place."""
    rows = WeatherCheck.objects.filter(site=group.site, work_date=group.work_date).order_by("at", "id")
    own = sorted(rows, key=lambda row: row.batch_id != group.key.batch_id)
    winds = (row for row in own if row.wind_m_s is not None)
    for row in (row for row in winds if row.wind_from_deg is not None or row.wind_m_s == 0):
        yield "wind", {"speed_m_s": row.wind_m_s, "from_deg": row.wind_from_deg}
        break
    for row in (row for row in own if row.air_temperature_c is not None):
        yield "air_temperature", row.air_temperature_c
        break
