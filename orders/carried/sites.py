"""The sites of the orders: the way in, the emergency plan, the checklist, the patches, the rule on records."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from orders.common.stamp import Stamp
from orders.sites.models import Site, Survey
from orders.sites.selectors import QuestionState, checklists, surveys_current
from orders.workorders.models import RecordProfile
from orders.workorders.records.rules import Rules


def sites_shown(sites: Sequence[Site], stamp: Stamp) -> list[dict[str, Any]]:
    days = {site.pk: stamp.local_date(site.time_zone) for site in sites}
    questions, rules = checklists(days), Rules.read()
    surveys: dict[int, list[Survey]] = defaultdict(list)
    for survey in surveys_current().filter(patch__site__in=sites).defer("patch__site__boundary"):
        surveys[survey.patch.site_id].append(survey)
    return [
        {
            **_site(site),
            "checklist": [_question(row) for row in questions[site.pk]],
            "patches": [_patch(survey) for survey in surveys[site.pk]],
            "record": _record(rules.of(site.jurisdiction.code, days[site.pk])),
        }
        for site in sites
    ]


def _site(site: Site) -> dict[str, Any]:
    return {
        "id": str(site.public_id),
        "code": site.code,
        "name": site.name,
        "jurisdiction": {"code": site.jurisdiction.code, "name": site.jurisdiction.name},
        "time_zone": site.time_zone,
        "boundary": site.boundary,
        "drive_minutes": site.drive_minutes,
        "access_notes": site.access_notes,
        "worker_protection_rules": site.worker_protection_rules,
        "emergency": {
            "access": site.emergency_access,
            "meeting_lon": site.meeting_lon,
            "meeting_lat": site.meeting_lat,
            "medical_help": site.nearest_medical_help,
            "medical_phone": site.medical_phone,
            "medical_address": site.medical_address,
            "radio_or_phone": site.radio_or_phone,
        },
    }


def _question(row: QuestionState) -> dict[str, Any]:
    answer = row.answer
    return {
        "code": row.question.code,
        "question": row.question.question,
        "answer": answer.answer if answer else "",
        "stops_work": bool(answer and answer.stops_work),
        "valid_until": _day(answer.valid_until if answer else None),
        "open": bool(row.open_because),
        "why": row.open_because,
    }


def _patch(survey: Survey) -> dict[str, Any]:
    return {
        "id": str(survey.patch.public_id),
        "code": survey.patch.code,
        "name": survey.patch.name,
        "geometry": survey.geometry,
        "species": species_names(survey),
        "control_state": survey.patch.control_state,
    }


def species_names(survey: Survey) -> list[str]:
    return _once(component.species.common_name for component in survey.components.all())


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _record(profile: RecordProfile | None) -> dict[str, Any] | None:
    if profile is None:
        return None
    return {
        "profile": str(profile.public_id),
        "jurisdiction": profile.jurisdiction,
        "required": profile.required,
        "if_applicable": profile.if_applicable,
        "counts": profile.counts,
        "days": profile.days,
        "keep_years": profile.keep_years,
        "must_carry_order": profile.must_carry_order,
        "volunteers_may_apply": profile.volunteers_may_apply,
        "volunteer_signal_words": profile.volunteer_signal_words,
        "least_age": profile.least_age,
        "reviewed_on": _day(profile.reviewed_on),
    }
