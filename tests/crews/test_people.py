"""Roles, rates, people and what they may do."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.crews.models import Person, Qualification, StandardRate
from orders.crews.selectors import standard_rates
from orders.crews.services import (
    labor_role_add,
    person_add,
    qualification_add,
    qualification_kind_add,
    standard_rate_set,
)
from tests import build

pytestmark = pytest.mark.django_db


def test_it_adds_a_role_and_a_person_in_it(stamp):
    role = labor_role_add(stamp=stamp, code="sawyer", name="Sawyer")
    person = person_add(stamp=stamp, name="Curtis Amadi", person_type="staff", role=role, user=build.UserFactory())
    assert Person.objects.get().role == role
    assert person.is_active


def test_it_refuses_a_user_who_is_another_person(stamp):
    user = build.UserFactory()
    build.PersonFactory(user=user)
    with pytest.raises(Invalid) as refusal:
        person_add(stamp=stamp, name="Twin", person_type="staff", role=build.LaborRoleFactory(), user=user)
    assert [error.field for error in refusal.value.errors] == ["user"]


def test_it_refuses_a_person_type_that_is_none(stamp):
    with pytest.raises(Invalid) as refusal:
        person_add(stamp=stamp, name="Ghost", person_type="ghost", role=build.LaborRoleFactory())
    assert [error.field for error in refusal.value.errors] == ["person_type"]


def test_it_takes_the_rate_in_force_on_the_day(stamp):
    role = build.LaborRoleFactory(code="sawyer")
    for from_day, rate_e4 in [(date(2026, 1, 1), 350_000), (date(2027, 7, 1), 365_000)]:
        standard_rate_set(stamp=stamp, role=role, from_day=from_day, rate_e4=rate_e4, source="budget")
    assert standard_rates(date(2027, 6, 30)) == {"sawyer": 350_000}
    assert standard_rates(date(2027, 7, 1)) == {"sawyer": 365_000}
    assert standard_rates(date(2025, 12, 31)) == {}


@pytest.mark.parametrize(("field", "wrong"), [("rate_e4", -1), ("rate_e4", 35.0), ("source", "")])
def test_it_refuses_a_rate_that_is_none(stamp, field, wrong):
    facts = {"role": build.LaborRoleFactory(), "from_day": date(2027, 1, 1), "rate_e4": 350_000, "source": "budget"}
    with pytest.raises(Invalid) as refusal:
        standard_rate_set(stamp=stamp, **facts | {field: wrong})
    assert [error.field for error in refusal.value.errors] == [field]
    assert not StandardRate.objects.exists()


def license_facts(**changed):
    return {
        "person": build.PersonFactory(),
        "kind": build.QualificationKindFactory(is_license=True),
        "jurisdiction": build.JurisdictionFactory(),
        "first_day": date(2026, 1, 1),
        "last_day": date(2028, 12, 31),
        **changed,
    }


def test_it_keeps_a_license_with_its_supervisor(stamp):
    supervisor = build.PersonFactory()
    qualification_add(stamp=stamp, **license_facts(supervised_by=supervisor, number="KY-1"))
    assert Qualification.objects.get().supervised_by == supervisor


def test_it_refuses_a_license_that_holds_nowhere(stamp):
    with pytest.raises(Invalid) as refusal:
        qualification_add(stamp=stamp, **license_facts(jurisdiction=None))
    assert [error.field for error in refusal.value.errors] == ["jurisdiction"]


def test_it_takes_a_skill_without_a_jurisdiction(stamp):
    kind = qualification_kind_add(stamp=stamp, code="sawyer", name="Sawyer")
    assert qualification_add(stamp=stamp, **license_facts(kind=kind, jurisdiction=None)).jurisdiction is None


def test_it_refuses_people_who_supervise_themselves(stamp):
    person = build.PersonFactory()
    with pytest.raises(Invalid) as refusal:
        qualification_add(stamp=stamp, **license_facts(person=person, supervised_by=person))
    assert [error.field for error in refusal.value.errors] == ["supervised_by"]


def test_it_refuses_days_in_the_wrong_order(stamp):
    with pytest.raises(Invalid) as refusal:
        qualification_add(stamp=stamp, **license_facts(last_day=date(2025, 1, 1)))
    assert [error.field for error in refusal.value.errors] == ["last_day"]
