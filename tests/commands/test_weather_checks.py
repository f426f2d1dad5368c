"""Weather on site, judged here by the labels; what was done outside a mandatory limit is told at once."""

import pytest

from orders.field.models import Flag
from orders.workorders.models import WeatherCheck
from tests import build
from tests.commands.season import flags

pytestmark = pytest.mark.django_db

WINDY = {"wind_m_s": 6.0}


@pytest.fixture
def limited(season):
    """The label's wind: mandatory above 5 m/s, advice above 4 m/s."""
    limits = {"product": season.product, "measure": "wind_m_s", "low": None, "reference": "Label, page 3 (invented)"}
    build.LabelWeatherFactory(**limits, high=5.0, kind="label-mandatory")
    build.LabelWeatherFactory(**limits, high=4.0, kind="label-advisory")
    for person in season.people[1:]:
        build.QualificationFactory(person=person, kind__code="certified-applicator", jurisdiction=None)
    return season


def _sent(season, **more):
    season.applied("weather-check", season.weather(**more), order=True)
    return WeatherCheck.objects.order_by("-id").first()


def test_it_says_go_where_nothing_stands_against_it(limited):
    check = _sent(limited)
    assert (check.verdict, check.findings, flags()) == ("go", [], [])


def test_it_judges_by_the_labels_of_the_order(limited):
    check = _sent(limited, wind_m_s=4.5)
    assert check.verdict == "advised_against"
    assert [(found["kind"], found["product"], found["limit"], found["measured"]) for found in check.findings] == [
        ("label-advisory", "herb", 4.0, 4.5)
    ]


def test_it_keeps_who_let_advice_pass_and_why(limited):
    check = _sent(limited, wind_m_s=4.5, passed_by="A. Lead", passed_reason="Sheltered by the bluff")
    assert (check.passed_by, check.passed_reason, flags()) == ("A. Lead", "Sheltered by the bluff", [])


def test_it_holds_a_pass_without_a_reason(limited):
    body = limited.weather(wind_m_s=4.5, passed_by="A. Lead")
    assert limited.send("weather-check", body, order=True)["state"] == "held"


def test_it_lets_nobody_pass_a_mandatory_limit(limited):
    check = _sent(limited, **WINDY, passed_by="A. Lead", passed_reason="In a hurry")
    assert (check.verdict, check.passed_by, check.passed_reason) == ("no_go", "", "")
    flag = Flag.objects.get()
    assert (flag.kind, flag.severity, flag.data["passed_by"]) == ("mandatory_limit_passed", "urgent", "A. Lead")
    assert sorted(flag.for_roles) == ["coordinator", "pesticide_supervisor"]


def test_it_does_not_flag_a_no_go_before_any_work(limited):
    assert (_sent(limited, **WINDY).verdict, flags()) == ("no_go", [])


def test_it_tells_of_work_in_weather_that_a_label_forbids(limited):
    """The start was fine; the wind rose."""
    batch = limited.batch()
    limited.applied("mix-batch", batch)
    limited.applied("weather-check", limited.weather(), order=True, **_at("08:50"))
    limited.applied("application", limited.application(batch), order=True)
    assert flags() == []
    limited.applied("weather-check", limited.weather(purpose="during", **WINDY), order=True, **_at("10:00"))
    assert flags() == [("weather_no_go", "urgent"), ("label_deviation", "urgent")]
    assert Flag.objects.get(kind="label_deviation").person == limited.lead


def test_it_tells_of_a_use_that_began_after_a_no_go(limited):
    batch = limited.batch()
    limited.applied("mix-batch", batch)
    limited.applied("weather-check", limited.weather(**WINDY), order=True, **_at("08:50"))
    limited.applied("application", limited.application(batch), order=True)
    assert flags() == [("label_deviation", "urgent")]


def test_it_forgets_a_no_go_that_a_later_check_before_the_use_took_back(limited):
    batch = limited.batch()
    limited.applied("mix-batch", batch)
    limited.applied("weather-check", limited.weather(**WINDY), order=True, **_at("08:00"))
    limited.applied("weather-check", limited.weather(), order=True, **_at("08:50"))
    limited.applied("application", limited.application(batch), order=True)
    assert flags() == []


def _at(clock):
    return {"happened_at": f"2027-02-10T{clock}:00-05:00"}
