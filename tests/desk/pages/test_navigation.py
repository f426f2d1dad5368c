"""The head links what a role opens, in the order of the work, and marks the page that is shown."""

from uuid import uuid4

import pytest
from django.urls import reverse

from orders.api.permissions import TABLE
from orders.common.errors import RoleMissing
from orders.desk.navigation import DESK, ENTRIES, EVERY_ROLE, OFFICE, links, page_opens_to
from tests import build

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_it_opens_no_page_wider_than_the_api(entry):
    assert entry.roles <= TABLE.get(entry.name, {}).get("GET", entry.roles)


def test_it_links_what_the_role_opens():
    finance = links(build.UserFactory(roles=["finance"]), "/")
    lead = links(build.UserFactory(roles=["crew_lead"]), "/")
    assert "Money" in [link.words for link in finance]
    assert not {"Money", "Estimates"} & {link.words for link in lead}


@pytest.mark.parametrize("role", sorted(EVERY_ROLE))
def test_it_links_pages_that_open_and_no_others_do(client, role):
    client.force_login(build.UserFactory(roles=[role]))
    found = {entry.name: client.get(reverse(entry.name)).status_code for entry in ENTRIES}
    assert found == {entry.name: 200 if role in entry.roles else 403 for entry in ENTRIES}


def test_it_marks_the_page_that_is_shown():
    shown = links(build.UserFactory(roles=["finance"]), f"{reverse('cost-report')}rows/")
    assert [link.words for link in shown if link.is_here] == ["Money"]


def test_it_marks_the_seasons_on_the_pages_of_their_plans():
    shown = links(build.UserFactory(roles=["coordinator"]), reverse("plan", args=[uuid4()]))
    assert [link.words for link in shown if link.is_here] == ["Seasons"]


def test_it_refuses_who_has_none_of_the_roles():
    page_opens_to(build.UserFactory(roles=["finance"]), OFFICE)
    with pytest.raises(RoleMissing, match="administrator, coordinator"):
        page_opens_to(build.UserFactory(roles=["finance"]), DESK)
