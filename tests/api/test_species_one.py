"""What is known of a species' year, read and changed."""

import pytest

from tests import build
from tests.api.caller import error_fields

pytestmark = pytest.mark.django_db
FLOWERS = {
    "flower_first_month": 6,
    "flower_first_day": 5,
    "flower_last_month": 7,
    "flower_last_day": 20,
    "flower_source": "invented",
}


@pytest.fixture
def path():
    return f"/api/species/{build.SpeciesFactory().public_id}"


def test_it_changes_when_a_species_flowers(desk, path):
    reply = desk.edit(path, FLOWERS, etag=desk.get(path).headers["ETag"])
    assert (reply.status_code, reply.json()["flower_last_day"], reply.json()["version"]) == (200, 20, 2)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({**FLOWERS, "flower_last_day": 32}, "flower_last_day"),
        ({**FLOWERS, "flower_source": ""}, "flower_source"),
        ({"fruit_first_day": None}, "fruit_first_day"),
        ({"code": "OTHER"}, "code"),
        ({"common_name": ""}, "common_name"),
    ],
)
def test_it_names_the_field_that_is_wrong(desk, path, changed, field):
    reply = desk.edit(path, changed, etag=desk.get(path).headers["ETag"])
    assert reply.status_code == 400
    assert field in error_fields(reply)


def test_it_lets_the_desk_alone_change_it(lead, path):
    assert lead.edit(path, FLOWERS, etag="*").status_code == 403
