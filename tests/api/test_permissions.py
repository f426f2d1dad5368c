"""Every address has a row in the table of permissions, and each row is held."""

from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse
from django.urls.resolvers import URLPattern

from deploy.urls import urlpatterns
from orders.api import urls
from orders.api.permissions import ANYONE, EVERY_ROLE, SIGNED_IN, TABLE, TABLET
from orders.tablet import urls as tablet_urls
from tests import build
from tests.api.caller import Caller

METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
ROWS = [(endpoint, method) for endpoint, methods in TABLE.items() for method in methods]


def _patterns() -> list[Any]:
    return [
        *urls.urlpatterns,
        *tablet_urls.urlpatterns,
        *(pattern for pattern in urlpatterns if isinstance(pattern, URLPattern)),
    ]


VIEWS = [pattern.callback.view_class for pattern in _patterns() if hasattr(pattern.callback, "view_class")]


def _address(endpoint):
    pattern = next(found for found in _patterns() if found.name == endpoint)
    ids = {name: "not_found" if name == "code" else uuid4() for name in pattern.pattern.converters}
    return reverse(f"api:{endpoint}" if pattern in urls.urlpatterns else endpoint, kwargs=ids)


@pytest.mark.parametrize("view", VIEWS, ids=lambda view: view.endpoint)
def test_it_has_a_row_for_each_method_of_each_view(view):
    known = {method for method in METHODS if hasattr(view, method.lower())}
    assert set(TABLE[view.endpoint]) == known


def test_it_has_no_row_without_a_view():
    assert {view.endpoint for view in VIEWS} == set(TABLE)


def test_it_sees_the_whole_api():
    assert len(VIEWS) > 65


@pytest.mark.parametrize(("endpoint", "method"), ROWS)
def test_it_asks_for_a_login(db, endpoint, method):
    reply = Caller().generic(method, _address(endpoint), "{}", content_type="application/json")
    if TABLE[endpoint][method] == ANYONE:
        assert reply.status_code not in {403}
    else:
        assert (reply.status_code, reply.json()["code"]) == (401, "not_authenticated")
        assert reply.headers["WWW-Authenticate"] == ("Tablet" if TABLE[endpoint][method] == TABLET else "Token")


@pytest.mark.parametrize(("endpoint", "method"), ROWS)
def test_it_refuses_the_roles_that_are_not_in_the_row(db, endpoint, method):
    allowed = TABLE[endpoint][method]
    for role in EVERY_ROLE - allowed if allowed not in {ANYONE, SIGNED_IN} else []:
        caller = Caller(build.UserFactory(roles=[role]))
        reply = caller.generic(method, _address(endpoint), "{}", content_type="application/json")
        assert (role, reply.status_code, reply.json()["code"]) == (role, 403, "role_missing")


@pytest.mark.parametrize(("endpoint", "method"), ROWS)
def test_it_opens_to_the_roles_that_are_in_the_row(db, endpoint, method):
    allowed = TABLE[endpoint][method]
    for role in EVERY_ROLE & allowed:
        caller = Caller(build.UserFactory(roles=[role]))
        reply = caller.generic(method, _address(endpoint), "{}", content_type="application/json")
        assert (role, reply.status_code) not in {(role, 401), (role, 403)}


def test_it_opens_nothing_to_a_user_without_a_role(db):
    caller = Caller(build.UserFactory())
    opened = {"me", "token-current"}
    for endpoint, methods in TABLE.items():
        if endpoint not in opened and "GET" in methods and methods["GET"] != ANYONE:
            assert caller.get(_address(endpoint)).status_code == 403, endpoint


def test_it_refuses_an_endpoint_that_the_table_does_not_know(db, monkeypatch):
    monkeypatch.delitem(TABLE, "sites")
    assert Caller(build.UserFactory(roles=["administrator"])).get("/api/sites").status_code == 403


def test_it_refuses_a_user_who_has_left(db):
    user = build.UserFactory(roles=["administrator"], is_active=False)
    assert Caller(user).get("/api/sites").status_code in {401, 403}
