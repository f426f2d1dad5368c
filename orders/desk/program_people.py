"""Roles, rates, people, qualifications and crews of a program's documents."""

from decimal import Decimal
from typing import Any

from orders.common.stamp import Stamp
from orders.crews import services as crews
from orders.desk.documents import Entry, Rows, day, exact, flag, text, whole
from orders.desk.subjects import Subject


def _labor_role(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return crews.labor_role_add(stamp=stamp, code=entry.get("code", text), name=entry.get("name", text))


def _standard_rate(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return crews.standard_rate_set(
        stamp=stamp,
        role=entry.get("role", rows.one("labor_roles")),
        from_day=entry.get("from_day", day),
        rate_e4=entry.get("rate_e4", whole),
        source=entry.get("source", text),
    )


def _qualification_kind(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return crews.qualification_kind_add(
        stamp=stamp,
        code=entry.get("code", text),
        name=entry.get("name", text),
        is_license=entry.may("is_license", flag, False),
    )


def _person(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return crews.person_add(
        stamp=stamp,
        name=entry.get("name", text),
        person_type=entry.get("person_type", text),
        role=entry.get("role", rows.one("labor_roles")),
        user=entry.may("user", rows.one("users"), None),
        born_on=entry.may("born_on", day, None),
        email=entry.may("email", text, ""),
    )


def _qualification(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return crews.qualification_add(
        stamp=stamp,
        person=entry.get("person", rows.one("people")),
        kind=entry.get("kind", rows.one("qualification_kinds")),
        jurisdiction=entry.may("jurisdiction", rows.one("jurisdictions"), None),
        first_day=entry.get("first_day", day),
        last_day=entry.get("last_day", day),
        number=entry.may("number", text, ""),
        category=entry.may("category", text, ""),
        supervised_by=entry.may("supervised_by", rows.one("people"), None),
    )


def _crew(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return crews.crew_add(
        stamp=stamp,
        name=entry.get("name", text),
        hours_a_day=entry.may("hours_a_day", exact, Decimal(8)),
        works_weekdays=entry.may("works_weekdays", text, "1111100"),
    )


def _member(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return crews.crew_member_add(
        stamp=stamp,
        crew=entry.get("crew", rows.one("crews")),
        person=entry.get("person", rows.one("people")),
        first_day=entry.get("first_day", day),
        last_day=entry.may("last_day", day, None),
        is_lead=entry.may("is_lead", flag, False),
    )


def _absence(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return crews.absence_add(
        stamp=stamp,
        crew=entry.may("crew", rows.one("crews"), None),
        person=entry.may("person", rows.one("people"), None),
        first_day=entry.get("first_day", day),
        last_day=entry.get("last_day", day),
        why=entry.get("why", text),
    )


PEOPLE = (
    Subject("crews.json", "labor_roles", "code", _labor_role),
    Subject("crews.json", "standard_rates", "", _standard_rate),
    Subject("crews.json", "qualification_kinds", "code", _qualification_kind),
    Subject("crews.json", "people", "name", _person),
    Subject("crews.json", "qualifications", "", _qualification),
    Subject("crews.json", "crews", "name", _crew),
    Subject("crews.json", "members", "", _member),
    Subject("crews.json", "absences", "", _absence),
)
