"""The whole API driven from its own description, against rows that exist: whatever is sent, it keeps its word.

Bounded and repeatable: the examples of an operation follow from its name. Each request is undone, so that one does not
spoil the ground for the next, and all of them find the same rows.
"""

import pytest
import schemathesis
from django.conf import settings as django_settings
from django.core.signals import request_finished, request_started
from django.db import close_old_connections, transaction
from django.test import override_settings
from hypothesis import HealthCheck, Phase, assume, given, seed, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode, checks

from deploy.wsgi import application
from orders.api.schema import description
from orders.bodies.fields import FIRST_DAY, LAST_DAY
from tests.api.fuzz_world import fuzz_world_build

METHODS = {"get", "post", "put", "patch", "delete"}
OPERATIONS = [(path, method) for path, methods in description()["paths"].items() for method in methods]
GOOD, BAD = 20, 12  # requests for each operation
REFUSALS = ["400", "401", "403", "404", "405", "406", "409", "412", "413", "415", "422", "428"]
PROMISES = [
    checks.not_a_server_error,
    checks.status_code_conformance,
    checks.content_type_conformance,
    checks.response_headers_conformance,
    checks.response_schema_conformance,
]

pytestmark = [pytest.mark.fuzz, pytest.mark.django_db]


@pytest.fixture(scope="module")
def api():
    """Days and instants come from the years that the API takes."""
    days = st.dates(FIRST_DAY, LAST_DAY)
    schemathesis.openapi.format("date", days.map(str))
    schemathesis.openapi.format("date-time", days.map(lambda day: f"{day}T14:05:00-05:00"))
    schemathesis.serializer.alias("application/offset+octet-stream", "application/octet-stream")
    refused = {"negative_data_rejection": {"expected-statuses": REFUSALS}}
    config = schemathesis.Config.from_dict({"checks": refused})
    loaded = schemathesis.openapi.from_dict(description(), config=config)
    loaded.app = application
    return loaded


# Nothing here may be slowed down: what is tested is what is said, not how often.
RATES = {"read": "1000000/min", "write": "1000000/min", "login": "1000000/min", "tablet": "1000000/min"}
UNHINDERED = {
    "REST_FRAMEWORK": {**django_settings.REST_FRAMEWORK, "DEFAULT_THROTTLE_RATES": RATES},
    "AXES_ENABLED": False,
    "PASSWORD_HASHERS": ["django.contrib.auth.hashers.MD5PasswordHasher"],
    "ALLOWED_HOSTS": ["*"],
}


@pytest.fixture(scope="module")
def _one_connection():
    """The rows live in a transaction of one connection, which the end of a request would close."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker, tmp_path_factory, _one_connection):
    photos = tmp_path_factory.mktemp("photos")
    with django_db_blocker.unblock(), override_settings(**UNHINDERED, PHOTO_DIR=photos), transaction.atomic():
        yield fuzz_world_build()
        transaction.set_rollback(True)


def _drive(operation, world, mode, examples, promises):
    @seed(f"{operation.method} {operation.path}")
    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy(generation_mode=mode))
    def each(case):
        world.place(case, is_right=mode == GenerationMode.POSITIVE)
        assume(not _is_lost_on_the_way(case))
        with transaction.atomic():
            reply = case.call(headers=world.headers(operation.path))
            transaction.set_rollback(True)
        case.validate_response(reply, checks=promises if _is_wrong(case) else PROMISES)

    each()


def _is_lost_on_the_way(case):
    """The client that drives this writes an empty part of a form without the line that ends its head, so that no server
    sees the part. tests/api/test_survey_imports.py sends one as a browser does."""
    is_form = str(case.media_type).startswith("multipart/") and isinstance(case.body, dict)
    return is_form and any(getattr(part, "data", part) in ("", b"") for part in case.body.values())


def _is_wrong(case):
    """Leaving out a body that may be left out is counted among the wrong requests, but is none."""
    return case.meta.phase.data.description != "Positive test case"


def _can_be_wrong(path, method):
    described = description()["paths"][path][method]
    return "requestBody" in described or any(found["in"] == "query" for found in described.get("parameters", []))


@pytest.mark.parametrize(("path", "method"), OPERATIONS, ids=[f"{method} {path}" for path, method in OPERATIONS])
def test_it_keeps_its_word(api, world, path, method):
    operation = api[path][method]
    _drive(operation, world, GenerationMode.POSITIVE, GOOD, PROMISES)
    if _can_be_wrong(path, method):
        _drive(operation, world, GenerationMode.NEGATIVE, BAD, [*PROMISES, checks.negative_data_rejection])
