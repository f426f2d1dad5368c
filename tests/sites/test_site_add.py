from decimal import Decimal

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.sites.models import Site
from orders.sites.services import site_add
from tests import build

pytestmark = pytest.mark.django_db


def facts(**changed):
    return {
        "code": "HOLLOW",
        "name": "Ketterfold Hollow",
        "jurisdiction": build.JurisdictionFactory(),
        "time_zone": "America/New_York",
        "boundary": build.square(-86.0, 38.3, side=0.01),
        "drive_minutes": 12,
        "drive_miles": Decimal("6.5"),
        **changed,
    }


def test_it_keeps_the_box_around_the_boundary(stamp):
    site = site_add(stamp=stamp, **facts())
    assert (site.min_lon, site.min_lat, site.max_lon, site.max_lat) == (-86.0, 38.3, -85.99, 38.31)
    assert Change.objects.get(verb="site_add").entity_id == site.public_id


def test_it_turns_a_boundary_drawn_the_wrong_way_round(stamp):
    clockwise = build.square(-86.0, 38.3)
    clockwise["coordinates"][0].reverse()
    site = site_add(stamp=stamp, **facts(boundary=clockwise))
    first, second = Site.objects.get(pk=site.pk).boundary["coordinates"][0][:2]
    assert second[0] > first[0] or second[1] < first[1]


BOW_TIE = {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]}


@pytest.mark.parametrize(
    "boundary",
    [
        {},
        {"type": "Point", "coordinates": [-86.0, 38.3]},
        {"type": "Polygon", "coordinates": []},
        BOW_TIE,
        build.square(500_000, 4_200_000, side=100),
        {"type": "Nonsense"},
    ],
    ids=["empty", "point", "no ring", "crosses itself", "meters", "unknown"],
)
def test_it_refuses_a_boundary_that_is_none(stamp, boundary):
    with pytest.raises(Invalid) as refusal:
        site_add(stamp=stamp, **facts(boundary=boundary))
    assert [error.field for error in refusal.value.errors] == ["boundary"]
    assert not Site.objects.exists()


@pytest.mark.parametrize(
    ("field", "wrong"),
    [("time_zone", "Eastern"), ("code", ""), ("drive_minutes", -1), ("drive_miles", Decimal("6.55"))],
)
def test_it_names_the_field_that_is_wrong(stamp, field, wrong):
    with pytest.raises(Invalid) as refusal:
        site_add(stamp=stamp, **facts(**{field: wrong}))
    assert [error.field for error in refusal.value.errors] == [field]
