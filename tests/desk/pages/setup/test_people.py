"""People, what they may do, crews and days off, as the pages of setting up show and change them."""

from datetime import date

import pytest
import time_machine
from django.urls import reverse

from orders.crews.models import Absence, CrewMembership, Person, Qualification, StandardRate
from tests import build
from tests.desk.pages.setup.kit_words import hidden_of, page_of, saved

pytestmark = pytest.mark.django_db
TODAY = "2026-12-01T15:00:00Z"


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel(TODAY, tick=False):
        yield


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def role():
    return build.LaborRoleFactory()


@pytest.fixture
def person(role):
    return build.PersonFactory(name="Ada Fern", role=role)


def test_it_says_what_people_are_for_where_there_is_nobody(desk):
    page = page_of(desk, "setup-people")
    assert "None yet" in page
    assert reverse("setup-person-new") in page


def test_it_adds_a_person(desk, role):
    values = {"name": "Ada Fern", "person_type": "staff", "role": str(role.public_id)}
    saved(desk, reverse("setup-person-new"), values)
    assert Person.objects.get().name == "Ada Fern"


def test_it_says_at_the_field_what_is_wrong(desk, role):
    reply = desk.post(reverse("setup-person-new"), {"name": "", "person_type": "staff", "role": str(role.public_id)})
    assert reply.status_code == 400
    assert 'id="id_name_error"' in reply.content.decode()
    assert not Person.objects.exists()


def test_it_shows_a_refusal_of_the_service_at_its_field(desk, person):
    kind = build.QualificationKindFactory()
    days = {"first_day": "2026-12-01", "last_day": "2027-12-01"}
    address = reverse("setup-qualification-new", args=[person.public_id])
    reply = desk.post(address, {"kind": str(kind.public_id), **days})
    assert reply.status_code == 400
    assert 'id="id_jurisdiction_error"' in reply.content.decode()
    assert "A license says where it holds." in reply.content.decode()


def test_it_does_not_write_over_what_somebody_else_changed(desk, person):
    address = reverse("setup-person-edit", args=[person.public_id])
    typed = hidden_of(desk, address) | {"name": "Ada Oak", "person_type": "staff", "role": str(person.role.public_id)}
    saved(desk, address, typed)
    reply = desk.post(address, typed | {"name": "Ada Elm"})
    assert reply.status_code == 412
    assert "Somebody else changed this" in reply.content.decode()
    assert Person.objects.get().name == "Ada Oak"


def test_it_tells_what_became_of_a_person(desk, person):
    address = reverse("setup-person-edit", args=[person.public_id])
    typed = hidden_of(desk, address) | {"name": "Ada Oak", "person_type": "staff", "role": str(person.role.public_id)}
    saved(desk, address, typed)
    page = desk.get(address).content.decode()
    assert "<del>Ada Fern</del> → Ada Oak" in page


def test_it_takes_a_person_out_of_use_and_puts_them_back(desk, person):
    saved(desk, reverse("setup-person-deactivate", args=[person.public_id]), {"version": 1})
    page_of(desk, "setup-people")  # tells that it is done
    assert "Ada Fern" not in page_of(desk, "setup-people")
    assert "Ada Fern" in desk.get(f"{reverse('setup-people')}?shown=ended").content.decode()
    saved(desk, reverse("setup-person-activate", args=[person.public_id]), {"version": 2})
    assert Person.objects.get().is_active


@pytest.mark.parametrize("name", ["setup-person-new", "setup-crew-new", "setup-role-new", "setup-kind-new"])
def test_it_opens_no_form_to_finance(client, finance, name):
    client.force_login(finance)
    assert client.get(reverse(name)).status_code == 403


def test_it_gives_the_list_as_a_file_without_formulas(desk, role):
    build.PersonFactory(name="=1+1", role=role)
    reply = desk.get(f"{reverse('setup-people')}?file=csv")
    assert reply["Content-Type"].startswith("text/csv")
    assert "'=1+1" in reply.content.decode()


def test_it_searches_and_sorts(desk, role):
    for name in ("Ada Fern", "Ben Ash"):
        build.PersonFactory(name=name, role=role)
    assert "Ben Ash" not in desk.get(f"{reverse('setup-people')}?q=fern").content.decode()
    page = desk.get(f"{reverse('setup-people')}?sort=-name").content.decode()
    assert page.index("Ben Ash") < page.index("Ada Fern")
    assert "Nothing here answers this" in desk.get(f"{reverse('setup-people')}?q=zzz").content.decode()


def test_it_asks_as_often_for_many_people_as_for_few(desk, role, django_assert_max_num_queries):
    address = reverse("setup-people")
    for _ in range(20):
        held = build.QualificationFactory(person=build.PersonFactory(role=role))
        build.CrewMembershipFactory(person=held.person)
    with django_assert_max_num_queries(16):
        desk.get(address)


def test_it_warns_of_a_license_that_ends_inside_the_season(desk, person):
    build.SeasonFactory(name="Spring", first_day=date(2027, 1, 1), last_day=date(2027, 6, 30))
    build.QualificationFactory(person=person, last_day=date(2027, 3, 31))
    page = desk.get(reverse("setup-person", args=[person.public_id])).content.decode()
    assert "ends in 120 days, inside Spring, and no renewal is on record" in page
    build.QualificationFactory(person=person, first_day=date(2027, 4, 1), last_day=date(2028, 3, 31))
    assert "no renewal is on record" not in desk.get(reverse("setup-person", args=[person.public_id])).content.decode()


def test_it_warns_of_a_supervisor_who_is_on_no_crew(desk, person):
    boss = build.PersonFactory(name="Wade Hill")
    build.QualificationFactory(person=boss)
    build.QualificationFactory(person=person, supervised_by=boss)
    page = desk.get(reverse("setup-person", args=[person.public_id])).content.decode()
    assert "Wade Hill, who supervises, is on no crew" in page
    build.CrewMembershipFactory(person=boss)
    assert "is on no crew" not in desk.get(reverse("setup-person", args=[person.public_id])).content.decode()


def test_it_ends_a_license_early(desk, person):
    row = build.QualificationFactory(person=person)
    saved(desk, reverse("setup-qualification-end", args=[row.public_id]), {"last_day": "2026-12-31", "version": 1})
    assert Qualification.objects.get().last_day == date(2026, 12, 31)
    reply = desk.post(
        reverse("setup-qualification-end", args=[row.public_id]), {"last_day": "2028-01-01", "version": 2}
    )
    assert reply.status_code == 400
    assert 'id="end_last_day_error"' in reply.content.decode()


def test_it_adds_a_crew_with_its_weekdays(desk):
    saved(desk, reverse("setup-crew-new"), {"name": "Hollow", "hours_a_day": "10", "weekdays": ["0", "1", "2", "3"]})
    page = page_of(desk, "setup-crews")
    assert "Mon, Tue, Wed, Thu" in page
    assert "Nobody is on it" in page


def test_it_puts_people_on_a_crew_and_changes_the_lead(desk):
    crew = build.CrewFactory(people=2)
    first, second = crew.memberships.order_by("-is_lead")
    values = {"person": str(second.person.public_id), "from_day": "2026-12-01"}
    saved(desk, reverse("setup-crew-lead", args=[crew.public_id]), values)
    now = CrewMembership.objects.filter(crew=crew, first_day=date(2026, 12, 1))
    assert {(row.person_id, row.is_lead) for row in now} == {(first.person_id, False), (second.person_id, True)}
    assert CrewMembership.objects.get(pk=first.pk).last_day == date(2026, 11, 30)


def test_it_refuses_a_person_who_is_on_another_crew(desk, person):
    build.CrewMembershipFactory(person=person)
    crew = build.CrewFactory()
    reply = desk.post(
        reverse("setup-member-new", args=[crew.public_id]),
        {"person": str(person.public_id), "first_day": "2026-12-01"},
    )
    assert reply.status_code == 400
    assert 'id="id_person_error"' in reply.content.decode()


def test_it_tells_what_no_crew_may_do(desk):
    kind = build.QualificationKindFactory()
    build.MethodFactory(qualification=kind)
    build.SiteFactory()
    crew = build.CrewFactory(people=1)
    assert "Nobody on a crew holds Certified applicator" in page_of(desk, "setup-crews")
    build.QualificationFactory(person=crew.memberships.get().person, kind=kind)
    assert "Nobody on a crew holds" not in page_of(desk, "setup-crews")


def test_it_shows_who_is_there_on_each_day_of_a_month(desk):
    crew = build.CrewFactory(people=2)
    away = build.AbsenceFactory(
        person=crew.memberships.first().person, first_day=date(2027, 3, 2), last_day=date(2027, 3, 3), why="Leave"
    )
    page = desk.get(f"{reverse('setup-absences')}?month=2027-03").content.decode()
    assert page.count('title="Leave"') == 2
    assert str(away.person) in page
    assert desk.get(f"{reverse('setup-absences')}?month=nonsense").status_code == 200


def test_it_adds_changes_and_takes_back_days_off(desk):
    crew = build.CrewFactory(people=1)
    values = {"who": f"crew {crew.public_id}", "first_day": "2027-03-02", "last_day": "2027-03-03", "why": "Training"}
    saved(desk, reverse("setup-absence-new"), values)
    row = Absence.objects.get()
    address = reverse("setup-absence", args=[row.public_id])
    typed = hidden_of(desk, address) | {"first_day": "2027-03-02", "last_day": "2027-03-04", "why": "Training"}
    saved(desk, address, typed)
    assert desk.post(address, typed | {"why": "Late"}).status_code == 412
    saved(desk, reverse("setup-absence-remove", args=[row.public_id]), {})
    assert not Absence.objects.exists()


def test_it_refuses_days_off_that_end_before_they_begin(desk, person):
    values = {"who": f"person {person.public_id}", "first_day": "2027-03-02", "last_day": "2027-03-01", "why": "Leave"}
    reply = desk.post(reverse("setup-absence-new"), values)
    assert reply.status_code == 400
    assert 'id="id_last_day_error"' in reply.content.decode()


def test_it_sets_the_rates_of_all_roles_or_of_none(desk, role):
    other = build.LaborRoleFactory(code="sawyer")
    typed = {"from_day": "2026-12-01", "source": "Payroll of November", f"rate_{role.pk}": "31.50"}
    saved(desk, reverse("setup-rates"), typed)
    assert [(row.role, row.rate_e4) for row in StandardRate.objects.all()] == [(role, 315_000)]
    again = desk.post(reverse("setup-rates"), typed | {f"rate_{other.pk}": "40"})
    assert again.status_code == 400
    assert StandardRate.objects.count() == 1


def test_it_sets_one_rate_by_finance_who_changes_no_role(client, finance, role):
    client.force_login(finance)
    saved(
        client,
        reverse("setup-role-rate", args=[role.public_id]),
        {"from_day": "2026-12-01", "rate": "30", "source": "x"},
    )
    assert client.post(reverse("setup-role", args=[role.public_id]), {"name": "Other"}).status_code == 403
    assert "$30.00/h" in client.get(reverse("setup-roles")).content.decode()


def test_it_keeps_a_license_placed(desk, person):
    kind = build.QualificationKindFactory(code="first-aid", is_license=False)
    build.QualificationFactory(person=person, kind=kind, jurisdiction=None)
    address = reverse("setup-kind", args=[kind.public_id])
    reply = desk.post(address, hidden_of(desk, address) | {"name": "First aid", "is_license": "on"})
    assert reply.status_code == 400
    assert "Ada Fern holds it without a jurisdiction" in reply.content.decode()
