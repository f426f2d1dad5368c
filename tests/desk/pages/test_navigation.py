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


def _words(shown):
    return {page.words for group in shown for page in group.pages}


def test_it_links_what_the_role_opens():
    finance = _words(links(build.UserFactory(roles=["finance"]), "/"))
    lead = _words(links(build.UserFactory(roles=["crew_lead"]), "/"))
    assert "Money" in finance
    assert not {"Money", "Estimates"} & lead


def test_it_leaves_out_a_group_that_holds_nothing_for_the_role():
    assert "Money" not in [group.words for group in links(build.UserFactory(roles=["crew_lead"]), "/")]


def _here(shown):
    return [(group.words, [page.words for page in group.pages if page.is_here]) for group in shown if group.is_here]


@pytest.mark.parametrize("role", sorted(EVERY_ROLE))
def test_it_links_pages_that_open_and_no_others_do(client, role):
    client.force_login(build.UserFactory(roles=[role]))
    found = {entry.name: client.get(reverse(entry.name)).status_code for entry in ENTRIES}
    assert found == {entry.name: 200 if role in entry.roles else 403 for entry in ENTRIES}


def test_it_marks_the_page_that_is_shown():
    shown = links(build.UserFactory(roles=["finance"]), f"{reverse('cost-report')}rows/")
    assert _here(shown) == [("Money", ["Money"])]


def test_it_marks_the_seasons_on_the_pages_of_their_plans():
    shown = links(build.UserFactory(roles=["coordinator"]), reverse("plan", args=[uuid4()]))
    assert _here(shown) == [("Season", ["Seasons"])]


@pytest.mark.parametrize(
    ("name", "group", "page"),
    [
        ("season-board", "Orders", "Board"),
        ("work-place", "Orders", "Board"),
        ("visit", "Orders", "Board"),
        ("visit-move", "Orders", "Board"),
        ("visit-off", "Orders", "Board"),
        ("prescribe", "Season", "Prescribe"),
    ],
)
def test_it_marks_the_page_that_leads_to_one_of_a_row(name, group, page):
    shown = links(build.UserFactory(roles=["coordinator"]), reverse(name, args=[uuid4()]))
    assert _here(shown) == [(group, [page])]


def test_it_marks_the_page_whose_address_holds_most_of_the_path():
    shown = links(build.UserFactory(roles=["coordinator"]), reverse("record-rules"))
    assert _here(shown) == [("Set up", ["Record rules"])]


def test_it_refuses_who_has_none_of_the_roles():
    page_opens_to(build.UserFactory(roles=["finance"]), OFFICE)
    with pytest.raises(RoleMissing, match="administrator, coordinator"):
        page_opens_to(build.UserFactory(roles=["finance"]), DESK)
