"""The API's description."""

import json

import pytest
from drf_spectacular.validation import validate_schema

from orders.api.permissions import ANYONE, TABLE
from orders.api.schema import description
from tests.api.caller import Caller

METHODS = {"get", "post", "put", "patch", "delete"}
# A POST that needs no key. What a tablet sends has ids of its own.
KEEP_NOTHING = {
    "/api/tokens",
    "/api/choices/methods",
    "/api/choices/preview",
    "/api/calendar-feed",
    "/api/calculations/pay-week",
    "/api/enrollment-codes",
}
KEEP_NOTHING |= {"/api/unsent-imports"}
NOT_DESCRIBED = {"schema", "docs", "healthz", "readyz"}
OPERATIONS = [
    (path, method, operation)
    for path, methods in description()["paths"].items()
    for method, operation in methods.items()
    if method in METHODS
]
NAMES = [f"{method} {path}" for path, method, _ in OPERATIONS]


def _parameters(operation):
    return {parameter["name"]: parameter for parameter in operation.get("parameters", [])}


def test_it_is_valid_openapi_3_1():
    validate_schema(description())
    assert description()["openapi"].startswith("3.1")


def test_it_describes_every_operation_of_the_table():
    described = {operation["operationId"] for _, _, operation in OPERATIONS}
    wanted = {
        f"{endpoint}-{method}".replace("-", "_").lower()
        for endpoint, methods in TABLE.items()
        for method in methods
        if endpoint not in NOT_DESCRIBED
    }
    assert described == wanted


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS, ids=NAMES)
def test_it_says_what_each_does_and_how_it_can_be_refused(path, method, operation):
    responses = operation["responses"]
    assert operation["summary"].endswith(".")
    assert {"405", "406", "429"} <= set(responses)
    assert ("404" in responses) or "{" not in path
    assert ("413" in responses, "415" in responses) == ("requestBody" in operation,) * 2 or not operation.get(
        "requestBody"
    )
    assert any(code.startswith("2") for code in responses)
    open_to_all = TABLE[operation["operationId"].rsplit("_", 1)[0].replace("_", "-")][method.upper()] == ANYONE
    assert ("security" in operation) != open_to_all


@pytest.mark.parametrize(("path", "method", "operation"), OPERATIONS, ids=NAMES)
def test_it_names_the_headers_that_a_write_needs(path, method, operation):
    parameters = _parameters(operation)
    if path.startswith("/tablet/"):
        assert not {"Idempotency-Key", "If-Match"} & set(parameters)
        return
    if path not in KEEP_NOTHING:
        assert ("Idempotency-Key" in parameters) == (method == "post")
    assert ("If-Match" in parameters) == (method in {"put", "patch"})
    for name in ("Idempotency-Key", "If-Match"):
        assert name not in parameters or parameters[name]["required"]


def test_it_uses_no_word_of_an_older_edition():
    assert '"nullable"' not in json.dumps(description())


def test_it_lets_no_body_hold_what_is_not_known():
    schemas = description()["components"]["schemas"]
    bodies = [name for name in schemas if name.endswith("Request")]
    assert len(bodies) > 25
    assert [name for name in bodies if schemas[name].get("additionalProperties") is not False] == []


@pytest.mark.django_db
def test_it_is_served_as_json_to_anybody():
    reply = Caller().get("/api/schema")
    assert (reply.status_code, reply.headers["Content-Type"]) == (200, "application/json")
    assert reply.json() == json.loads(json.dumps(description()))


@pytest.mark.django_db
def test_it_is_served_under_its_own_media_type_too():
    reply = Caller().get("/api/schema", headers={"Accept": "application/vnd.oai.openapi+json"})
    assert reply.headers["Content-Type"].startswith("application/vnd.oai.openapi+json")
