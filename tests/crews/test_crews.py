"""Crews, who is on them on a day, what they can do, and when they are off."""

from datetime import date
from decimal import Decimal

import pytest

from orders.common.errors import Invalid
from orders.crews.models import Absence, Crew, CrewMembership
from orders.crews.selectors import crew_days_off, crew_people, crew_skills
from orders.crews.services import absence_add, crew_add, crew_member_add
from tests import build

pytestmark = pytest.mark.django_db
MONDAY, FRIDAY, SUNDAY = date(2027, 3, 1), date(2027, 3, 5), date(2027, 3, 7)


def test_it_adds_a_crew(stamp):
    crew_add(stamp=stamp, name="Hollow crew", hours_a_day=Decimal(10), works_weekdays="1111000")
    assert Crew.objects.get().works_weekdays == "1111000"


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("works_weekdays", "111110"),
        ("works_weekdays", "1111102"),
        ("works_weekdays", "0000000"),
        ("hours_a_day", Decimal(0)),
        ("hours_a_day", Decimal(25)),
        ("name", ""),
    ],
)
def test_it_names_the_field_that_is_wrong(stamp, field, wrong):
    with pytest.raises(Invalid) as refusal:
        crew_add(**{"stamp": stamp, "name": "Hollow crew"} | {field: wrong})
    assert [error.field for error in refusal.value.errors] == [field]


def test_it_tells_who_was_on_the_crew_on_a_day_leads_first(stamp):
    crew = build.CrewFactory()
    early, late, lead = (build.PersonFactory(name=name) for name in ("Ada", "Ben", "Zoe"))
    crew_member_add(stamp=stamp, crew=crew, person=early, first_day=date(2026, 1, 5), last_day=date(2026, 12, 31))
    crew_member_add(stamp=stamp, crew=crew, person=late, first_day=date(2027, 1, 4))
    crew_member_add(stamp=stamp, crew=crew, person=lead, first_day=date(2026, 1, 5), is_lead=True)
    assert crew_people(crew, date(2026, 12, 31)) == [lead, early]
    assert crew_people(crew, date(2027, 1, 4)) == [lead, late]


def test_it_keeps_a_person_on_one_crew_at_a_time(stamp):
    person = build.PersonFactory()
    first = build.CrewMembershipFactory(person=person, first_day=date(2026, 1, 5), last_day=date(2026, 6, 30))
    other = build.CrewFactory()
    with pytest.raises(Invalid) as refusal:
        crew_member_add(stamp=stamp, crew=other, person=person, first_day=date(2026, 6, 30))
    assert first.crew.name in refusal.value.errors[0].message
    crew_member_add(stamp=stamp, crew=other, person=person, first_day=date(2026, 7, 1))
    assert CrewMembership.objects.count() == 2


def test_it_does_not_count_people_who_have_left():
    crew = build.CrewFactory(people=2)
    gone = crew.memberships.get(is_lead=False).person
    gone.is_active = False
    gone.save()
    assert gone not in crew_people(crew, MONDAY)


def test_it_counts_a_qualification_to_its_last_day_and_in_its_state_only():
    crew = build.CrewFactory(people=1)
    person = crew.memberships.get().person
    kentucky, indiana = build.JurisdictionFactory(code="KY"), build.JurisdictionFactory(code="IN")
    build.QualificationFactory(person=person, jurisdiction=kentucky, last_day=MONDAY)
    build.QualificationFactory(
        person=person, kind=build.QualificationKindFactory(code="sawyer"), jurisdiction=None, first_day=MONDAY
    )
    assert crew_skills(crew, MONDAY, kentucky) == {"certified-applicator", "sawyer"}
    assert crew_skills(crew, MONDAY, indiana) == {"sawyer"}
    assert crew_skills(crew, FRIDAY, kentucky) == {"sawyer"}
    assert crew_skills(crew, date(2027, 2, 28), kentucky) == {"certified-applicator"}


def test_it_takes_weekdays_and_holidays_off():
    crew = build.CrewFactory(people=2, works_weekdays="1111000")
    build.AbsenceFactory(crew=crew, first_day=date(2027, 2, 26), last_day=MONDAY)
    assert crew_days_off(crew, MONDAY, SUNDAY) == {MONDAY, FRIDAY, date(2027, 3, 6), SUNDAY}


def test_it_works_on_while_anybody_is_there():
    crew = build.CrewFactory(people=2)
    lead, other = (member.person for member in crew.memberships.all())
    build.AbsenceFactory(person=lead, first_day=MONDAY, last_day=FRIDAY)
    assert MONDAY not in crew_days_off(crew, MONDAY, FRIDAY)
    build.AbsenceFactory(person=other, first_day=FRIDAY, last_day=FRIDAY)
    assert crew_days_off(crew, MONDAY, FRIDAY) == {FRIDAY}


def test_it_is_off_before_anybody_is_on_it():
    crew = build.CrewFactory()
    build.CrewMembershipFactory(crew=crew, first_day=FRIDAY)
    assert FRIDAY not in crew_days_off(crew, MONDAY, FRIDAY)
    assert len(crew_days_off(crew, MONDAY, FRIDAY)) == 4


@pytest.mark.parametrize("both", [True, False])
def test_it_takes_an_absence_of_a_crew_or_a_person_and_not_of_both_or_none(stamp, both):
    who = {"crew": build.CrewFactory(), "person": build.PersonFactory()} if both else {}
    with pytest.raises(Invalid) as refusal:
        absence_add(stamp=stamp, first_day=MONDAY, last_day=FRIDAY, why="Leave", **who)
    assert [error.field for error in refusal.value.errors] == ["person"]


def test_it_adds_an_absence(stamp):
    person = build.PersonFactory()
    absence_add(stamp=stamp, person=person, first_day=MONDAY, last_day=FRIDAY, why="Leave")
    assert Absence.objects.get().person == person
