"""The world of the tablet's tests holds what its pages need."""

import pytest

from tests.build.tablet_world import tablet_world

pytestmark = pytest.mark.django_db


def test_it_issues_both_orders_for_the_day():
    world = tablet_world()
    assert {order.state for order in (world.pulling, world.herbicide)} == {"issued"}
    assert {order.first_day for order in (world.pulling, world.herbicide)} == {world.day}
    label = world.herbicide.label or {}
    assert [one["code"] for one in label["products"]] == ["glyphosate-480", "marker-dye", "surfactant"]
