"""Estimates: made at once, listed, and opened to all that made them."""

from datetime import date
from functools import partial

import pytest

from orders.common.transactions import writing
from orders.estimates import convert
from orders.estimates.models import Estimate, Method
from tests import build
from tests.api.caller import error_fields
from tests.estimates.books import volunteer_book
from tests.flow.world import world_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def survey(world):
    return world.patch.surveys.get()


def test_it_estimates_the_newest_survey_of_every_patch(desk, world):
    reply = desk.send("/api/estimates", {"on": "2026-12-01"})
    made = set(Estimate.objects.values_list("public_id", flat=True))
    assert (reply.status_code, reply.json()["count"]) == (201, len(made))
    assert set(reply.json()["estimates"]) == {str(found) for found in made}


def test_it_tells_what_could_not_be_priced(desk, world):
    assert desk.send("/api/estimates", {"on": "2026-12-01"}).json()["left_out"] == []
    Method.objects.filter(code="spot-foliar").update(default_mix=None)
    told = desk.send("/api/estimates", {"on": "2026-12-01"}).json()["left_out"]
    assert [(row["method"], row["lacks"], row["patches"]) for row in told] == [("spot-foliar", "mix", 1)]


def test_it_estimates_the_surveys_that_are_named(desk, world, survey):
    other = build.SurveyFactory()
    desk.send("/api/estimates", {"surveys": [str(survey.public_id)]})
    assert set(Estimate.objects.values_list("survey_id", flat=True)) == {survey.pk} != {other.pk}


def test_it_makes_no_estimate_twice(desk, world):
    first, again = (desk.send("/api/estimates").json() for _ in range(2))
    assert first["estimates"] == again["estimates"]
    assert Estimate.objects.count() == first["count"]


def test_it_names_a_survey_that_does_not_count(desk, world, survey):
    void = build.SurveyFactory(voided_at="2026-11-01T00:00:00Z")
    reply = desk.send("/api/estimates", {"surveys": [str(survey.public_id), str(void.public_id)]})
    assert (reply.status_code, error_fields(reply)) == (400, ["surveys[1]"])


def test_it_needs_a_rate_book_in_force(desk):
    build.SurveyFactory()
    assert desk.send("/api/estimates").json()["detail"].startswith("No rate book is in force.")


@pytest.mark.parametrize("by", ["patch", "survey", "method", "rate_book"])
def test_it_filters(desk, world, survey, by):
    desk.send("/api/estimates")
    method = Estimate.objects.order_by("id")[0]
    value = {
        "patch": world.patch.public_id,
        "survey": survey.public_id,
        "method": method.method.code,
        "rate_book": method.rate_book.public_id,
    }[by]
    rows = desk.rows(f"/api/estimates?{by}={value}")
    assert len(rows) == (1 if by == "method" else Estimate.objects.count())
    other = "none" if by == "method" else build.SiteFactory().public_id
    assert desk.rows(f"/api/estimates?{by}={other}") == []


def test_it_opens_an_estimate_to_all_that_made_it(desk, world):
    made = desk.send("/api/estimates").json()["estimates"]
    told = desk.get(f"/api/estimates/{made[0]}").json()
    parts = ("labor_cents", "material_cents", "equipment_cents", "mileage_cents")
    assert sum(told[part] for part in parts) == told["total_cents"]
    assert told["hours_low"] < told["hours_likely"] < told["hours_high"]
    assert told["explanation"] == Estimate.objects.get(public_id=made[0]).result
    assert told["inputs"]["version"] == 2
    assert (told["stale"], [row["id"] for row in told["history"]]) == ([], [told["id"]])


def test_it_says_why_an_estimate_no_longer_stands_and_shows_old_beside_new(desk, world):
    old = desk.send("/api/estimates").json()["estimates"][0]
    build.PriceFactory(kind="bag", code="bag", unit="each", from_day=date(2026, 11, 1), price_e4=19_000)
    new = desk.send("/api/estimates").json()["estimates"][0]
    told = desk.get(f"/api/estimates/{old}").json()
    assert told["stale"] == ["Standard rates or prices have changed."]
    assert [row["id"] for row in told["history"]] == [new, old]


def test_it_estimates_for_volunteers_by_their_own_book(desk, world):
    volunteer_book(world)
    made = desk.send("/api/estimates", {"crew_kind": "volunteers"}).json()["estimates"]
    rows = desk.rows("/api/estimates?crew_kind=volunteers")
    assert {row["id"] for row in rows} == set(made) != set()
    assert {row["crew_kind"] for row in rows} == {"volunteers"}


def test_it_needs_a_book_for_that_kind_of_crew(desk, world):
    reply = desk.send("/api/estimates", {"crew_kind": "volunteers"})
    assert reply.json()["detail"].startswith("No rate book is in force for volunteers.")


def test_it_computes_before_it_takes_the_write_lock(desk, world, monkeypatch):
    done, computed = [], convert.estimated

    def noted(word, act, *given):
        done.append(word)
        return act(*given)

    monkeypatch.setattr(convert, "estimated", partial(noted, "computed", computed))
    monkeypatch.setattr("orders.api.replies.writing", partial(noted, "locked", writing))
    assert desk.send("/api/estimates").status_code == 201
    assert done == ["computed", "locked"]


def test_it_computes_nothing_for_a_reply_that_it_remembers(desk, world, monkeypatch):
    first = desk.send("/api/estimates", key="the-same-key")
    monkeypatch.setattr(convert, "estimated", None)
    again = desk.send("/api/estimates", key="the-same-key")
    assert (again.json(), again.headers["Idempotent-Replayed"]) == (first.json(), "true")


def test_it_lists_without_the_explanation(desk, world):
    desk.send("/api/estimates")
    assert {"explanation", "inputs"}.isdisjoint(desk.rows("/api/estimates")[0])


def test_it_shows_no_estimate_to_a_crew_lead(lead, desk, world):
    made = desk.send("/api/estimates").json()["estimates"]
    assert [lead.get(path).status_code for path in ("/api/estimates", f"/api/estimates/{made[0]}")] == [403, 403]
