"""Logging in and out, and being locked out."""

import pytest
from django.urls import reverse
from knox.models import AuthToken
from rest_framework.test import APIClient

from orders.common.services import user_password_change, user_password_give
from tests import build
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db
PASSWORD = "a long invented phrase"


@pytest.fixture(autouse=True)
def _quick_hashes(settings):
    """Hashing a password is slow on purpose; here it is not what is tested."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture
def user():
    return build.UserFactory(username="ana", password=PASSWORD, roles=["coordinator"])


def _login(client, password=PASSWORD, username="ana"):
    return client.post("/api/tokens", {"username": username, "password": password}, format="json")


def test_it_gives_a_token_that_opens_the_api(user):
    reply = _login(APIClient())
    assert reply.status_code == 201
    client = APIClient(headers={"Authorization": f"Token {reply.json()['token']}"})
    assert client.get("/api/me").json()["username"] == "ana"


def test_it_keeps_no_token_in_plain_text(user):
    text = _login(APIClient()).json()["token"]
    held = AuthToken.objects.get()
    assert text not in held.digest
    assert held.expiry.isoformat() > "2026-12-30"


def test_it_refuses_a_wrong_password(user):
    reply = _login(APIClient(), "another phrase")
    assert (reply.status_code, reply.json()["code"]) == (401, "authentication_failed")
    assert reply.headers["WWW-Authenticate"] == "Token"


def test_it_says_the_same_of_a_name_that_is_not_there(user):
    told = [_login(APIClient(), "another phrase", name).json() for name in ("ana", "nobody-here")]
    assert told[0] == told[1]


def test_it_refuses_a_user_who_has_left(user):
    user.is_active = False
    user.save()
    assert _login(APIClient()).status_code == 401


def test_it_locks_out_after_too_many_failures(user, settings):
    client = APIClient()
    for _ in range(settings.AXES_FAILURE_LIMIT):
        _login(client, "another phrase")
    reply = _login(client)
    assert (reply.status_code, reply.json()["code"]) == (429, "login_locked")
    assert reply.headers["Content-Type"] == "application/problem+json"
    assert int(reply.headers["Retry-After"]) == 600


def test_it_forgets_the_failures_at_a_login(user, settings):
    client = APIClient()
    for _ in range(2):
        for _ in range(settings.AXES_FAILURE_LIMIT - 1):
            _login(client, "another phrase")
        assert _login(client).status_code == 201


def test_it_slows_down_who_tries_many_names(settings):
    settings.REST_FRAMEWORK = {**settings.REST_FRAMEWORK, "DEFAULT_THROTTLE_RATES": {"login": "3/min"}}
    client = APIClient()
    tried = [_login(client, "another phrase", f"name-{number}").status_code for number in range(4)]
    assert tried == [401, 401, 401, 429]


def test_it_lets_the_oldest_token_go_where_there_are_too_many(user, settings):
    settings.REST_KNOX = {**settings.REST_KNOX, "TOKEN_LIMIT_PER_USER": 2}
    settings.AXES_FAILURE_LIMIT = 100
    tokens = [_login(APIClient()).json()["token"] for _ in range(3)]
    opened = [APIClient(headers={"Authorization": f"Token {token}"}).get("/api/me").status_code for token in tokens]
    assert opened == [401, 200, 200]


def test_it_logs_out_the_token_that_is_used(user):
    tokens = [_login(APIClient()).json()["token"] for _ in range(2)]
    first, second = (APIClient(headers={"Authorization": f"Token {token}"}) for token in tokens)
    assert first.delete("/api/tokens/current").status_code == 204
    assert (first.get("/api/me").status_code, second.get("/api/me").status_code) == (401, 200)


def test_it_has_no_token_to_void_where_none_was_sent(user):
    assert Caller(user).delete("/api/tokens/current").status_code == 404


def test_it_names_what_is_missing():
    reply = APIClient().post("/api/tokens", {"username": "ana"}, format="json")
    assert (reply.status_code, error_fields(reply)) == (400, ["password"])


def test_it_lets_a_page_call_with_its_session_and_csrf_token(user):
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    assert client.get("/api/me").status_code == 200
    body = {"name": "2028", "first_day": "2028-01-03", "last_day": "2028-12-15"}
    refused = client.post("/api/seasons", body, format="json", headers={"Idempotency-Key": "season-2028"})
    assert (refused.status_code, refused.json()["code"]) == (403, "permission_denied")


def test_it_gives_no_token_for_a_password_that_somebody_else_set(user):
    user_password_give(user=user, password=PASSWORD, stamp=build.stamp())
    reply = _login(APIClient())
    assert (reply.status_code, reply.json()["code"]) == (403, "password_given")
    assert not AuthToken.objects.exists()
    user_password_change(user=user, old=PASSWORD, password=f"{PASSWORD} of my own", stamp=build.stamp())
    assert _login(APIClient(), f"{PASSWORD} of my own").status_code == 201


def test_a_session_that_must_choose_a_password_opens_nothing(client, user):
    user_password_give(user=user, password=PASSWORD, stamp=build.stamp())
    client.post(reverse("login"), {"username": "ana", "password": PASSWORD})
    reply = client.get("/api/me")
    assert (reply.status_code, reply.json()["code"]) == (403, "password_given")
    own = f"{PASSWORD} of my own"
    client.post(reverse("setup-password"), {"old": PASSWORD, "password": own, "again": own})
    assert client.get("/api/me").json()["username"] == "ana"
