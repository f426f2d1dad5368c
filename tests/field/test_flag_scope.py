"""Who sees which flags."""

from datetime import date

import pytest

from orders.common.errors import NotFound
from orders.field.selectors.flags import flag_get, flags_of
from tests import build

pytestmark = pytest.mark.django_db
DAY = date(2027, 3, 1)


@pytest.fixture
def lead():
    return build.UserFactory(roles=["crew_lead"])


def _titles(user):
    return [flag.title for flag in flags_of(user, on=DAY)]


def test_it_shows_all_to_the_desk():
    build.FlagFactory(title="chemical", for_roles=["pesticide_supervisor"])
    for role in ("coordinator", "administrator"):
        assert _titles(build.UserFactory(roles=[role])) == ["chemical"]


def test_it_shows_the_pesticide_supervisor_those_of_the_role():
    build.FlagFactory(title="chemical", for_roles=["coordinator", "pesticide_supervisor"])
    build.FlagFactory(title="other", for_roles=["coordinator"])
    assert _titles(build.UserFactory(roles=["pesticide_supervisor"])) == ["chemical"]


def test_it_shows_a_lead_those_of_own_crews_and_own_commands(lead):
    person = build.PersonFactory(user=lead)
    crew = build.CrewMembershipFactory(person=person).crew
    build.FlagFactory(title="own crew", crew=crew)
    build.FlagFactory(title="other crew", crew=build.CrewFactory())
    build.FlagFactory(title="own command", command=build.CommandFactory(user=lead))
    build.FlagFactory(title="to the person", person=person)
    assert sorted(_titles(lead)) == ["own command", "own crew", "to the person"]


def test_it_has_no_flag_for_others(lead):
    flag = build.FlagFactory()
    with pytest.raises(NotFound):
        flag_get(lead, flag.public_id, on=DAY)
    assert _titles(build.UserFactory(roles=["finance"])) == []
