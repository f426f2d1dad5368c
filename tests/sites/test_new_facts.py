"""What the database itself refuses of the facts that came later: words that are none, cuts out of reach."""

import pytest
from django.db import IntegrityError

from tests import build

pytestmark = pytest.mark.django_db


def test_it_takes_ground_and_re_rooting_as_unknown_until_somebody_says():
    component = build.SurveyComponentFactory()
    facts = (component.survey.ground, component.species.pulled_stems_reroot, component.cut_height_m)
    assert facts == ("unknown", "unknown", None)


def test_it_refuses_a_condition_that_is_no_word_of_ours():
    with pytest.raises(IntegrityError, match="component_condition_is_known_word"):
        build.SurveyComponentFactory(reproductive_condition="seeds")


def test_it_refuses_a_closure_of_no_kind():
    with pytest.raises(IntegrityError, match="closure_kind_is_known_word"):
        build.ClosureFactory(kind="holiday")


@pytest.mark.parametrize("facts", [{"low_c": 20.0}, {"high_c": 61.0}, {"low_c": -91.0}])
def test_it_refuses_a_day_of_no_weather(facts):
    with pytest.raises(IntegrityError, match="daily_weather_in_order"):
        build.DailyWeatherFactory(**facts)


def test_it_refuses_a_ground_that_is_no_word_of_ours():
    with pytest.raises(IntegrityError, match="survey_ground_is_known_word"):
        build.SurveyFactory(ground="lumpy")


def test_it_refuses_an_answer_that_is_none():
    with pytest.raises(IntegrityError, match="species_reroot_is_answer"):
        build.SpeciesFactory(pulled_stems_reroot="perhaps")


@pytest.mark.parametrize("height_m", [0.2, 6.1])
def test_it_refuses_a_cut_out_of_reach(height_m):
    with pytest.raises(IntegrityError, match="component_cut_within_reach"):
        build.SurveyComponentFactory(cut_height_m=height_m)
