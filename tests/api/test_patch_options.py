"""Every method of a patch side by side."""

import pytest

from tests import build
from tests.api.caller import error_fields
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def shown(desk):
    return _asked(desk, ground_build())


def _asked(desk, ground):
    season = ground.world.season.public_id
    reply = desk.get(f"/api/patches/{ground.wide.public_id}/options?season={season}")
    assert reply.status_code == 200, reply.json()
    return reply.json()


def _option(shown, code):
    return next(option for option in shown["options"] if option["method"]["code"] == code)


def test_it_puts_the_recommended_method_first(shown):
    first = shown["options"][0]
    assert (first["method"]["code"], first["is_recommended"], first["fits"]) == ("dormant-foliar", True, "yes")
    assert first["why"] == "Widespread and evergreen: spray it while natives are dormant."
    assert first["hours_low"] < first["hours_likely"] < first["hours_high"]
    assert first["last_day"] == "2027-04-03"  # a week before leaf-out; no ephemerals grow here


def test_it_tells_why_a_method_does_not_fit(shown):
    option = _option(shown, "cut-stem")
    assert (option["fits"], option["estimate"], option["reasons"][0]["rule"]) == ("no", None, "growth form")


def test_it_looks_years_ahead(shown):
    option = _option(shown, "dormant-foliar")
    low, likely, high = option["cover_after"]
    assert 0 < low < likely < high < 0.4
    assert shown["kept_up"]["dormant-foliar"]["likely"][1] == likely
    first, second, *later = option["hours_by_year"]
    assert second < first
    assert len(set(later)) == 1
    assert "monitor" not in shown["kept_up"]


def test_it_tells_every_window_and_why(shown):
    option = _option(shown, "dormant-foliar")
    spring, autumn = option["windows"]
    assert (spring["opens"], spring["closes"]) == ("2027-01-04", "2027-04-03")
    assert (option["first_day"], option["last_day"]) == (spring["opens"], spring["closes"])
    assert (autumn["opens"], autumn["closes"]) == ("2027-11-27", "2027-12-17")
    assert spring["why"].startswith("Opens: ")
    assert "Closes: natives leaf out, less 7 days." in spring["why"]


def test_it_tells_the_seed_deadline_of_each_species(desk):
    ground = ground_build()
    form = build.GrowthFormFactory(code="climbing")
    build.SurveyComponentFactory(survey=ground.wide.surveys.get(), growth_form=form, fertile="yes")
    (due,) = _asked(desk, ground)["seed_dues"]
    assert (due["species"]["code"], due["deadline"]["due"]) == ("EUFO", "2027-08-18")
    assert not due["deadline"]["late"]


def test_it_needs_no_season(desk):
    ground = ground_build()
    reply = desk.get(f"/api/patches/{ground.wide.public_id}/options")
    first = reply.json()["options"][0]
    assert (reply.status_code, first["first_day"], first["windows"]) == (200, None, [])
    assert reply.json()["seed_dues"] == []


def test_it_names_what_it_cannot_be_asked(desk):
    patch = build.PatchFactory()
    assert error_fields(desk.get(f"/api/patches/{patch.public_id}/options?season=7")) == ["season"]


def test_it_has_nothing_to_say_of_a_patch_without_a_survey(desk):
    assert desk.get(f"/api/patches/{build.PatchFactory().public_id}/options").status_code == 404
