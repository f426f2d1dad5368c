"""What many programs begin with: offered until it is there, taken in whole, with its source in sight."""

import pytest
from django.urls import reverse

from fixtures.making import places
from orders.crews.models import CrewMembership, StandardRate
from orders.desk.setup.usual import STATES, reference_rows
from orders.sites.models import ChecklistQuestion, Jurisdiction, Species
from orders.workorders.records.rules import profiles
from tests import build
from tests.desk.pages.setup.kit_words import page_of, saved

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _take(desk, kind, *codes):
    return saved(desk, reverse("setup-usual", args=[kind]), {"rows": codes})


def test_every_state_with_a_rule_on_records_can_be_taken(desk):
    assert {row.jurisdiction for row in profiles()} - {"", "US"} == set(STATES)
    _take(desk, "jurisdictions", "KY", "IN")
    assert set(Jurisdiction.objects.values_list("name", flat=True)) == {"Kentucky", "Indiana"}
    offered = page_of(desk, "setup-usual", "jurisdictions")
    assert "Ohio" in offered
    assert 'value="KY"' not in offered


def test_species_come_with_their_days_and_sources(desk):
    codes = [row["code"] for row in reference_rows("species.csv")]
    _take(desk, "species", *codes)
    vine = Species.objects.get(code="EUFO")
    assert (vine.evergreen, vine.fruit_first_month, vine.flower_source) == (True, 9, "from memory")
    assert not Species.objects.filter(phenology_source="").exists()
    assert "All of these are here already" in page_of(desk, "setup-usual", "species")


def test_the_species_are_those_that_the_demo_has():
    assert [row["code"] for row in reference_rows("species.csv")] == [row[0] for row in places.SPECIES]
    questions = [(row["code"], row["question"]) for row in reference_rows("checklist_questions.csv")]
    assert questions == places.QUESTIONS


def test_questions_stand_after_those_that_are_there(desk):
    build.ChecklistQuestionFactory(code="own", sort=50)
    _take(desk, "questions", "water", "utilities")
    assert list(ChecklistQuestion.objects.order_by("sort").values_list("code", flat=True)) == [
        "own",
        "water",
        "utilities",
    ]


def test_it_asks_for_one_at_least(desk):
    reply = desk.post(reverse("setup-usual", args=["species"]), {})
    assert reply.status_code == 400
    assert not Species.objects.exists()


def test_what_is_there_meanwhile_is_not_added_twice(desk):
    _take(desk, "jurisdictions", "KY")
    assert desk.post(reverse("setup-usual", args=["jurisdictions"]), {"rows": ["KY"]}).status_code == 400
    assert Jurisdiction.objects.count() == 1


def test_there_is_no_other_kind(desk):
    assert desk.get(reverse("setup-usual", args=["brands"])).status_code == 404


def test_finance_takes_nothing_in(client, finance):
    client.force_login(finance)
    assert client.post(reverse("setup-usual", args=["species"]), {"rows": ["EUFO"]}).status_code == 403


def test_rates_are_suggested_as_invented_and_only_where_there_is_none(desk):
    lead, member = build.LaborRoleFactory(code="crew-lead"), build.LaborRoleFactory(code="crew-member")
    StandardRate.objects.all().delete()
    assert page_of(desk, "setup-rates").count("invented figure") == 1
    rate = {f"rate_{lead.pk}": "40", "from_day": "2026-01-01", "source": "Payroll"}
    saved(desk, reverse("setup-rates"), rate)
    page = page_of(desk, "setup-rates")
    assert "41.50" not in page
    assert "31.40" in page
    assert member.code == "crew-member"


def test_a_crew_is_added_with_its_people_at_once(desk):
    role = build.LaborRoleFactory()
    lead, other, away = (build.PersonFactory(name=name, role=role) for name in ("Ada", "Ben", "Cy"))
    typed = {"name": "Hill", "hours_a_day": "8", "weekdays": ["0", "1"], "people": [str(other.public_id)]}
    saved(desk, reverse("setup-crew-new"), typed | {"lead": str(lead.public_id)})
    stays = set(CrewMembership.objects.values_list("person__name", "is_lead"))
    assert stays == {("Ada", True), ("Ben", False)}
    page = page_of(desk, "setup-crew-new")
    assert str(away.public_id) in page
    assert str(other.public_id) not in page


def test_the_next_person_is_added_with_the_same_role(desk):
    role = build.LaborRoleFactory()
    typed = {"name": "Ada", "person_type": "staff", "role": str(role.public_id), "next": "1"}
    reply = desk.post(reverse("setup-person-new"), typed)
    assert reply["Location"] == f"{reverse('setup-person-new')}?role={role.public_id}"
