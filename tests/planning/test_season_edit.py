"""Changing a season: its name and money at any time, its days while nothing rests on them."""

from datetime import date

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.planning.season_edits import season_edit
from orders.planning.services import season_add
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def season():
    return build.SeasonFactory(name="2028", first_day=date(2028, 1, 3), last_day=date(2028, 12, 15))


def _edit(season, expected=None, **values):
    version = season.version if expected is None else expected
    return season_edit(season=season, values=values, expected=version, stamp=build.stamp())


def test_it_adds_a_season_with_its_level():
    season = season_add(
        name="2029", first_day=date(2029, 1, 2), last_day=date(2029, 12, 20), level="cautious", stamp=build.stamp()
    )
    assert season.budget_level == 0.8


def test_it_changes_name_money_and_level(season):
    _edit(season, name="Season 2028", budget_cents=5_000_000, level="near certain")
    season.refresh_from_db()
    assert (season.name, season.budget_cents, season.budget_level) == ("Season 2028", 5_000_000, 0.95)
    assert Change.objects.filter(verb="season_edit").count() == 1


def test_it_moves_the_days_of_an_empty_season(season):
    _edit(season, last_day=date(2029, 2, 28))
    season.refresh_from_db()
    assert season.last_day == date(2029, 2, 28)


def test_it_keeps_days_that_visits_rest_on(season):
    build.VisitFactory(season=season, day=date(2028, 3, 1), state="planned")
    with pytest.raises(Invalid) as refused:
        _edit(season, last_day=date(2029, 2, 28))
    assert "visits are planned" in refused.value.errors[0].message
    _edit(season, name="Still named anew")


def test_it_keeps_days_that_windows_rest_on(season):
    build.PrescriptionFactory(season=season, first_day=date(2028, 2, 1), last_day=date(2028, 11, 30))
    with pytest.raises(Invalid):
        _edit(season, last_day=date(2028, 10, 1))
    _edit(season, last_day=date(2028, 12, 1))


def test_it_refuses_days_out_of_order_and_a_name_that_is_taken(season):
    build.SeasonFactory(name="2027")
    for values in ({"last_day": date(2028, 1, 3)}, {"name": "2027"}):
        with pytest.raises(Invalid):
            _edit(season, **values)


def test_it_refuses_what_changed_meanwhile(season):
    with pytest.raises(VersionMismatch):
        _edit(season, expected=season.version + 1, name="Other")
