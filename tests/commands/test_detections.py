"""What a crew newly saw, as a survey of a new patch where enough is told."""

import math
from uuid import uuid4

import pytest

from orders.field.models import Detection
from orders.sites.models import Patch, Survey
from tests import build
from tests.commands.season import flags

pytestmark = pytest.mark.django_db

POINT = {"type": "Point", "coordinates": [-85.6995, 38.2005]}


@pytest.fixture
def seen(season):
    species = build.SpeciesFactory(code="ALPE")
    build.GrowthFormFactory(code="herb")

    def body(**more):
        told = {"id": str(uuid4()), "site": str(season.site.public_id), "species": species.code, "growth_form": "herb"}
        return {**told, "geometry": POINT, "accuracy_m": 6.0, "cover_percent": 40.0, "note": "By the spring", **more}

    return body


def test_it_makes_a_survey_of_a_new_patch(season, seen):
    body = seen()
    season.applied("detection", body)
    season.applied("detection", body)
    survey = Survey.objects.get(detections=Detection.objects.get())
    assert (survey.patch.site, survey.patch.code, str(survey.observed_on)) == (season.site, "N-001", "2027-02-10")
    assert survey.notes == "By the spring"
    component = survey.components.get()
    assert (component.species.code, component.growth_form.code, component.cover_likely) == ("ALPE", "herb", 0.4)
    assert flags() == [("detection", "note")]


def test_it_takes_a_point_for_a_square_meter_somewhere_within_its_accuracy(season, seen):
    season.applied("detection", seen())
    survey = Survey.objects.get(patch__code="N-001")
    assert survey.geometry["type"] == "Point"
    assert survey.gross_area_m2 == pytest.approx(math.pi * 36)
    assert survey.components.get().infested_area_m2 == 1.0


def test_it_takes_an_outline_as_it_was_drawn(season, seen):
    season.applied("detection", seen(geometry=build.square(side=0.0001), accuracy_m=None))
    survey = Survey.objects.get(patch__code="N-001")
    assert 90 < survey.gross_area_m2 < 110
    assert survey.components.get().infested_area_m2 == survey.gross_area_m2


def test_it_counts_new_patches_by_site(season, seen):
    season.applied("detection", seen())
    season.applied("detection", seen(geometry={"type": "Point", "coordinates": [-85.6, 38.21]}))
    assert list(Patch.objects.filter(code__startswith="N-").order_by("code").values_list("code", flat=True)) == [
        "N-001",
        "N-002",
    ]


@pytest.mark.parametrize(
    "less",
    [
        {"species": None, "species_text": "A tall thistle"},
        {"cover_percent": None},
        {"geometry": {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [0, 1], [1, 0], [0, 0]]]}},
    ],
)
def test_it_keeps_what_is_not_enough_for_a_survey_and_asks(season, seen, less):
    season.applied("detection", seen(**less))
    assert (Detection.objects.get().survey, flags()) == (None, [("detection_incomplete", "settle")])
    assert not Patch.objects.filter(code__startswith="N-").exists()
