"""Logging in: clear errors, a pause after many failures, and `next` only within this host."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import build

pytestmark = pytest.mark.django_db
LOGIN, PASSWORD = reverse("login"), "kestrel over the hedge"


@pytest.fixture
def user():
    return build.UserFactory(username="fay", password=PASSWORD, roles=["finance"])


def _try(client, password=PASSWORD, **more):
    return client.post(LOGIN, {"username": "fay", "password": password, **more})


def test_it_shows_a_form_with_names_for_password_managers(client, user):
    page = client.get(LOGIN).content.decode()
    assert 'autocomplete="username"' in page
    assert 'autocomplete="current-password"' in page


def test_it_lets_in_and_goes_to_the_signpost(client, user):
    assert _try(client).url == reverse("signpost")


def test_it_says_what_is_wrong_without_saying_which(client, user):
    wrong, unknown = _try(client, "wrong"), client.post(LOGIN, {"username": "nobody", "password": "x"})
    for page in (wrong, unknown):
        assert "This username and password do not go together" in page.content.decode()


def test_it_names_an_empty_field(client):
    page = client.post(LOGIN, {"username": "fay", "password": ""}).content.decode()
    assert 'id="id_password_error"' in page
    assert 'aria-invalid="true"' in page


def test_it_goes_to_the_page_asked_for(client, user):
    asked = reverse("cost-report") + "?by=fund"
    assert _try(client, next=asked).url == asked


@pytest.mark.parametrize("away", ["https://elsewhere.example/", "//elsewhere.example", "javascript:alert(1)"])
def test_it_goes_nowhere_else(client, user, away):
    assert _try(client, next=away).url == reverse("signpost")


def test_it_pauses_after_many_failures_even_for_the_right_password(client, user, settings):
    for _ in range(settings.AXES_FAILURE_LIMIT):
        paused = _try(client, "wrong")
    right = _try(client)
    for page in (paused, right):
        assert page.status_code == 429
        assert page["Retry-After"] == "600"
        assert "For 10 minutes" in page.content.decode()


def test_it_logs_out_by_post_only(client, user):
    client.force_login(user)
    assert client.get(reverse("logout")).status_code == 405
    assert client.post(reverse("logout")).url == LOGIN
    assert client.get(reverse("cost-report")).status_code == 302


def test_it_explains_a_form_that_is_out_of_date(user):
    page = Client(enforce_csrf_checks=True).post(LOGIN, {"username": "fay", "password": PASSWORD})
    assert page.status_code == 403
    assert "This form is out of date" in page.content.decode()
