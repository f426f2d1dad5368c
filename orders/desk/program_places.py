"""Users, sites, species, checklists and calendars of a program's documents."""

from typing import Any

from orders.common.services import user_add
from orders.common.stamp import Stamp
from orders.desk.documents import Entry, Rows, anything, day, exact, flag, month_day, number, text, texts, whole
from orders.desk.subjects import Subject
from orders.sites import services as sites


def _user(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return user_add(
        stamp=stamp,
        username=entry.get("username", text),
        password=entry.get("password", text),
        roles=entry.get("roles", texts),
        email=entry.may("email", text, ""),
        first_name=entry.may("first_name", text, ""),
        last_name=entry.may("last_name", text, ""),
    )


def _jurisdiction(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return sites.jurisdiction_add(stamp=stamp, code=entry.get("code", text), name=entry.get("name", text))


def _site(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return sites.site_add(
        stamp=stamp,
        code=entry.get("code", text),
        name=entry.get("name", text),
        jurisdiction=entry.get("jurisdiction", rows.one("jurisdictions")),
        time_zone=entry.get("time_zone", text),
        boundary=entry.get("boundary", anything),
        drive_minutes=entry.get("drive_minutes", whole),
        drive_miles=entry.get("drive_miles", exact),
        access_notes=entry.may("access_notes", text, ""),
        plan=_plan(entry),
        worker_protection_rules=entry.may("worker_protection_rules", flag, False),
    )


def _plan(entry: Entry) -> sites.EmergencyPlan:
    return sites.EmergencyPlan(
        nearest_medical_help=entry.may("nearest_medical_help", text, ""),
        medical_phone=entry.may("medical_phone", text, ""),
        medical_address=entry.may("medical_address", text, ""),
        meeting_lon=entry.may("meeting_lon", number, None),
        meeting_lat=entry.may("meeting_lat", number, None),
        emergency_access=entry.may("emergency_access", text, ""),
        radio_or_phone=entry.may("radio_or_phone", text, ""),
    )


def _species(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return sites.species_add(
        stamp=stamp,
        code=entry.get("code", text),
        scientific_name=entry.get("scientific_name", text),
        common_name=entry.get("common_name", text),
        evergreen=entry.get("evergreen", flag),
        resprouts=entry.get("resprouts", flag),
        pulled_stems_reroot=entry.may("pulled_stems_reroot", text, "unknown"),
        reroot_source=entry.may("reroot_source", text, ""),
        year=sites.SpeciesYear(
            fruit_first=entry.may("fruit_first", month_day, None),
            fruit_last=entry.may("fruit_last", month_day, None),
            phenology_source=entry.may("phenology_source", text, ""),
            flower_first=entry.may("flower_first", month_day, None),
            flower_last=entry.may("flower_last", month_day, None),
            flower_to_fruit_days=entry.may("flower_to_fruit_days", whole, None),
            flower_source=entry.may("flower_source", text, ""),
            leaf_drop=entry.may("leaf_drop", month_day, None),
            leaf_drop_source=entry.may("leaf_drop_source", text, ""),
        ),
    )


def _question(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return sites.checklist_question_add(
        stamp=stamp,
        code=entry.get("code", text),
        question=entry.get("question", text),
        sort=entry.get("sort", whole),
    )


def _answer(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return sites.checklist_answer(
        stamp=stamp,
        site=entry.get("site", rows.one("sites")),
        question=entry.get("question", rows.one("questions")),
        answer=entry.get("answer", text),
        stops_work=entry.may("stops_work", flag, False),
        valid_until=entry.may("valid_until", day, None),
    )


def _event(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return sites.calendar_event_add(
        stamp=stamp,
        site=entry.get("site", rows.one("sites")),
        kind=entry.get("kind", text),
        year=entry.get("year", whole),
        on=entry.get("on", day),
        source=entry.get("source", text),
    )


def _closure(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return sites.closure_add(
        stamp=stamp,
        site=entry.get("site", rows.one("sites")),
        first_day=entry.get("first_day", day),
        last_day=entry.get("last_day", day),
        why=entry.get("why", text),
        kind=entry.may("kind", text, "other"),
        repeats_yearly=entry.may("repeats_yearly", flag, False),
        methods=entry.may("methods", texts, []),
    )


PLACES = (
    Subject("users.json", "users", "username", _user),
    Subject("sites.json", "jurisdictions", "code", _jurisdiction),
    Subject("sites.json", "sites", "code", _site),
    Subject("species.json", "species", "code", _species),
    Subject("checklists.json", "questions", "code", _question),
    Subject("checklists.json", "answers", "", _answer),
    Subject("calendars.json", "events", "", _event),
    Subject("calendars.json", "closures", "", _closure),
)
