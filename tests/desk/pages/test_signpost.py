"""The root sends each person to the page of their role; the head links what the role opens, and nothing else."""

import pytest
from django.urls import reverse

from tests import build

pytestmark = pytest.mark.django_db


def test_it_asks_for_a_login_first(client):
    assert client.get("/").url == f"{reverse('login')}?next=/"


@pytest.mark.parametrize("role", ["finance", "administrator"])
def test_it_sends_those_who_read_costs_to_the_report(client, role):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get("/").url == reverse("cost-report")


@pytest.mark.parametrize(
    ("role", "name"), [("coordinator", "patches"), ("pesticide_supervisor", "patches"), ("crew_lead", "products")]
)
def test_it_sends_the_others_to_where_their_work_begins(client, role, name):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get("/").url == reverse(name)


def test_it_sends_a_person_without_a_role_to_the_description_of_the_api(client):
    client.force_login(build.UserFactory())
    assert client.get("/").url == "/api/docs"


def _head(client, user):
    client.force_login(user)
    return client.get("/no-such-page/").content.decode().partition("<main")[0]


def test_it_links_costs_and_admin_where_the_role_opens_them(client):
    head = _head(client, build.UserFactory(roles=["finance"], is_staff=True))
    assert f'href="{reverse("cost-report")}"' in head
    assert f'href="{reverse("admin:index")}"' in head


def test_it_does_not_link_what_the_role_does_not_open(client, coordinator):
    head = _head(client, coordinator)
    assert reverse("cost-report") not in head
    assert reverse("admin:index") not in head
    assert 'href="/api/docs"' in head


def test_it_links_nothing_before_a_login(client):
    head = client.get(reverse("login")).content.decode().partition("<main")[0]
    assert reverse("cost-report") not in head
    assert "/api/docs" not in head
