"""The root shows each person the start page; the head links what the role opens, and nothing else."""

import pytest
from django.urls import reverse

from orders.desk.navigation import EVERY_ROLE
from tests import build

pytestmark = pytest.mark.django_db


def test_it_asks_for_a_login_first(client):
    assert client.get("/").url == f"{reverse('login')}?next=/"


@pytest.mark.parametrize("role", sorted(EVERY_ROLE))
def test_it_shows_the_start_page_to_every_role(client, role):
    client.force_login(build.UserFactory(roles=[role]))
    assert client.get("/").status_code == 200


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
