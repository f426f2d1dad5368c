"""Every error has one shape, whoever raises it."""

import json

import pytest
from django.test import Client
from rest_framework.test import APIClient

from orders.api.catalog import FRAMEWORK, meanings
from orders.common.errors import Refusal
from tests.api.caller import Caller, error_fields

pytestmark = pytest.mark.django_db
SHAPE = {"type", "status", "code", "title"}


def _check(reply, status, code):
    assert (reply.status_code, reply.headers["Content-Type"]) == (status, "application/problem+json")
    told = reply.json()
    assert set(told) >= SHAPE
    assert (told["status"], told["code"], told["type"]) == (status, code, f"/api/problems/{code}")
    assert set(told) <= SHAPE | {"detail", "errors", "data"}
    return told


@pytest.mark.parametrize(
    "path", ["/api/nothing", "/api/", "/api/sites/", "/api/sites/7", "/api/sites/..%2f", "/api/%00"]
)
def test_it_tells_of_unknown_addresses(path):
    _check(APIClient().get(path), 404, "not_found")


@pytest.mark.parametrize("method", ["delete", "put", "patch", "post", "trace"])
def test_it_names_the_verbs_that_an_address_knows(desk, method):
    reply = getattr(desk, method)("/api/daily-weather")
    _check(reply, 405, "method_not_allowed")
    assert reply.headers["Allow"] == "GET, HEAD, OPTIONS"


def test_it_says_what_an_address_allows(desk):
    reply = desk.options("/api/seasons")
    assert (reply.status_code, reply.headers["Allow"], reply.content) == (204, "GET, POST, HEAD, OPTIONS", b"")


@pytest.mark.parametrize("accept", ["text/html", "application/xml", "image/*"])
def test_it_gives_nothing_but_what_it_can(desk, accept):
    _check(desk.get("/api/sites", headers={"Accept": accept}), 406, "not_acceptable")


@pytest.mark.parametrize("accept", ["*/*", "application/json", "application/*;q=0.5", "text/html, */*;q=0.1"])
def test_it_gives_json_to_who_takes_it(desk, accept):
    assert desk.get("/api/sites", headers={"Accept": accept}).headers["Content-Type"] == "application/json"


def _raw(desk, content, content_type="application/json"):
    return desk.post("/api/seasons", content, content_type=content_type, headers={"Idempotency-Key": "raw-body"})


@pytest.mark.parametrize("content_type", ["text/plain", "application/x-www-form-urlencoded", "application/xml", "x"])
def test_it_takes_nothing_but_json(desk, content_type):
    _check(_raw(desk, b"name=2028", content_type), 415, "unsupported_media_type")


BROKEN = {
    "not json": b"{name: 2028}",
    "cut off": b'{"name": "2028"',
    "no number": b'{"budget_cents": NaN}',
    "infinite": b'{"budget_cents": Infinity}',
    "twice": b'{"name": "a", "name": "b"}',
    "half a pair": b'{"name": "\\ud800"}',
    "half a pair in a name": b'{"\\udfff": 1}',
    "latin": '{"name": "Größe"}'.encode("latin-1"),
    "bottomless": b"[" * 100_000,
    "more digits than a number has": b'{"budget_cents": ' + b"9" * 5_000 + b"}",
    "two documents": b"{}{}",
    "a byte order mark": b"\xef\xbb\xbf{}",
}


@pytest.mark.parametrize("content", BROKEN.values(), ids=BROKEN)
def test_it_says_no_to_what_is_no_json(desk, content):
    _check(_raw(desk, content), 400, "parse_error")


@pytest.mark.parametrize("content", [b"[]", b'"text"', b"3", b"null", b"[[1]]"])
def test_it_wants_an_object(desk, content):
    told = _check(_raw(desk, content), 400, "invalid")
    assert told["errors"]


@pytest.mark.parametrize("value", ["a\0b", "\0"])
def test_it_refuses_the_zero_character(desk, value):
    reply = _raw(desk, json.dumps({"name": value, "first_day": "2028-01-03", "last_day": "2028-12-15"}))
    assert (_check(reply, 400, "invalid")["errors"][0]["field"], error_fields(reply)) == ("name", ["name"])


@pytest.mark.parametrize(
    "number", ["1e999", "1e30", "-1", "9223372036854775808", "10000000000001", "0.5", '"5"', "true"]
)
def test_it_refuses_numbers_that_cannot_be(desk, number):
    content = f'{{"name": "2028", "first_day": "2028-01-03", "last_day": "2028-12-15", "budget_cents": {number}}}'
    assert error_fields(_raw(desk, content)) == ["budget_cents"]


def test_it_reads_utf_8_whatever_the_charset_says(desk):
    content = '{"name": "Größe", "first_day": "2028-01-03", "last_day": "2028-12-15"}'.encode()
    assert _raw(desk, content, "application/json; charset=utf-16").json()["name"] == "Größe"


def test_it_refuses_a_body_that_is_too_large(desk):
    reply = _raw(desk, b'{"name": "' + b"x" * (2 * 1024 * 1024) + b'"}')
    _check(reply, 413, "payload_too_large")


def test_it_names_rows_and_fields_of_what_is_nested(scene):
    body = {"shares": [{"fund": str(scene.world.fund.public_id), "share_e4": 1}, {"fund": 3, "share": 2}]}
    reply = scene.as_("finance").edit(f"{scene.address}/funding", body, etag="*", method="put")
    _check(reply, 400, "invalid")
    assert error_fields(reply) == ["shares[1].share"]


def test_it_cuts_the_names_that_a_client_made_up(desk):
    reply = _raw(desk, json.dumps({"x" * 5_000: 1}))
    assert len(reply.content) < 1_000


def test_it_tells_of_a_fault_of_its_own_in_the_same_shape(desk, monkeypatch):
    def broken(self):
        raise RuntimeError("secret detail")

    monkeypatch.setattr("orders.api.sites.Sites.rows", broken)
    desk.raise_request_exception = False
    reply = desk.get("/api/sites")
    _check(reply, 500, "server_error")
    assert b"secret" not in reply.content


def test_it_tells_of_a_host_that_is_not_ours():
    reply = Client(headers={"Host": "elsewhere.example"}).get("/api/sites")
    _check(reply, 400, "bad_request")


def test_it_shows_a_page_where_a_page_was_asked_for():
    reply = Client().get("/nothing")
    assert (reply.status_code, reply.headers["Content-Type"]) == (404, "text/html; charset=utf-8")


@pytest.mark.parametrize("code", meanings())
def test_it_explains_every_code(code):
    told = APIClient().get(f"/api/problems/{code}").json()
    assert told["code"] == code
    assert 400 <= told["status"] <= 599
    assert told["title"]
    assert len(told["meaning"]) > 15


def test_it_explains_no_other_code():
    _check(APIClient().get("/api/problems/moonlight"), 404, "not_found")


def _below(kind):
    return [kind, *(found for child in kind.__subclasses__() for found in _below(child))]


def test_it_knows_every_refusal_of_the_program():
    assert {refusal.code for refusal in _below(Refusal)} <= set(meanings())
    assert {"checklist_open", "license_missing", "label_forbids", "plan_out_of_date"} <= set(meanings())
    assert {meaning.code for meaning in FRAMEWORK} <= set(meanings())


def test_it_gives_each_code_one_meaning():
    own = [refusal.code for refusal in _below(Refusal) if "code" in vars(refusal)]
    own += [meaning.code for meaning in FRAMEWORK]
    assert sorted(own) == sorted(set(own))


def test_it_keeps_the_header_of_a_login_that_is_missing():
    reply = Caller().get("/api/sites")
    _check(reply, 401, "not_authenticated")
    assert reply.headers["WWW-Authenticate"] == "Token"


@pytest.mark.parametrize("header", ["Token nonsense", "Token", "Token a b", "Basic YTpi"])
def test_it_refuses_a_token_that_is_none(header):
    reply = APIClient(headers={"Authorization": header}).get("/api/sites")
    assert reply.status_code == 401
    assert reply.json()["code"] in {"authentication_failed", "not_authenticated"}
