"""Free documents and shapes within a body."""

import pytest
from rest_framework.serializers import ValidationError

from orders.bodies.documents import CHARACTERS, Document, Shape
from tests import build


@pytest.mark.parametrize(
    "wrong",
    [[], "text", {"a": float("nan")}, {"a": "x\x00"}, {"a": "\ud800"}, {"a": "x" * CHARACTERS}],
)
def test_it_takes_no_document_that_a_database_cannot_keep(wrong):
    with pytest.raises(ValidationError):
        Document().run_validation(wrong)


def test_it_keeps_a_document_as_it_came():
    told = {"a": [1, 2.5, None, {"b": "ü"}]}
    assert Document().run_validation(told) == told


@pytest.mark.parametrize(
    "wrong",
    [
        {"type": "LineString", "coordinates": [[0, 0], [1, 1]]},
        {"type": "Point", "coordinates": [0]},
        {"type": "Point", "coordinates": [181, 0]},
        {"type": "Point", "coordinates": [0, 91]},
        {"type": "Point", "coordinates": [True, 0]},
        {"type": "Point", "coordinates": ["0", 0]},
        {"type": "Polygon", "coordinates": []},
        {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 1]]]},
        {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [0, 0]]]},
        {"type": "Polygon"},
        {"coordinates": [0, 0]},
    ],
)
def test_it_takes_no_shape_that_is_none(wrong):
    with pytest.raises(ValidationError):
        Shape("Point", "Polygon").run_validation(wrong)


def test_it_keeps_a_shape_without_what_is_no_part_of_it():
    point = {"type": "Point", "coordinates": [-85.7, 38.2]}
    assert Shape("Point").run_validation({**point, "bbox": [0, 0, 0, 0]}) == point
    assert Shape("Polygon").run_validation(build.square()) == build.square()
