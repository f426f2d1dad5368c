"""A run: asked for, worked in the background, its evidence frozen."""

import pytest

from orders.calibration.convert import calibration_read
from orders.calibration.models import CalibrationRun
from orders.calibration.services import calibration_ask
from orders.common.errors import Invalid
from orders.common.models import Change
from tests import build
from tests.calibration.closed import RATIOS, calibrated, closed_build

pytestmark = pytest.mark.django_db


def test_it_is_a_row_that_waits(stamp):
    season = build.SeasonFactory()
    run = calibration_ask(season=season, stamp=stamp)
    assert (run.state, run.crew_kind, run.asked_by, run.result) == ("queued", "staff", stamp.by, None)
    assert Change.objects.get(verb="calibration_ask").entity_id == run.public_id


def test_it_knows_two_kinds_of_crews(stamp):
    with pytest.raises(Invalid):
        calibration_ask(season=build.SeasonFactory(), crew_kind="robots", stamp=stamp)


def test_it_finds_what_the_orders_say(moment):
    run = calibrated(closed_build(RATIOS), moment)
    found = calibration_read(run.result)
    cut = found.ratio("cut", "climbing")
    assert cut
    assert cut.low < 1.52 < cut.high
    assert (len(cut.orders), len(run.evidence), run.rate_book.name) == (10, 10, "Reference")


def test_it_says_that_there_is_not_enough(moment):
    run = calibrated(closed_build(RATIOS[:3]), moment)
    assert run.result["because"].startswith("Not enough evidence: 3 closed orders")
    assert run.state == "done"


def test_it_takes_a_season_without_any_order(moment):
    run = calibrated(closed_build(), moment)
    assert (run.state, run.rate_book, run.evidence) == ("done", None, [])


def test_it_looks_at_volunteers_by_their_own_book(moment):
    closed = closed_build(RATIOS)
    volunteers = build.RateBookFactory(name="Volunteers", crew_kind="volunteers")
    for ratio in RATIOS:
        closed.order(ratio * 2, book=volunteers)
    staff, own = (calibrated(closed, moment, kind) for kind in ("staff", "volunteers"))
    assert (staff.rate_book, own.rate_book) == (closed.book, volunteers)
    assert own.result["overall"]["ratio"] == pytest.approx(2 * staff.result["overall"]["ratio"], rel=0.05)


def test_it_leaves_out_what_another_edition_estimated(moment):
    closed = closed_build(RATIOS)
    older = build.RateBookFactory(name="Reference", edition=900, state="retired")
    order = closed.order(1.0, book=older)
    run = calibrated(closed, moment)
    assert [row["order"] for row in run.left_out] == [str(order.number)]
    assert "estimated with Reference 900" in run.left_out[0]["because"]


def test_it_keeps_its_evidence_when_an_order_is_amended_later(moment):
    closed = closed_build(RATIOS)
    run = calibrated(closed, moment)
    kept = run.evidence
    closed.order(5.0)
    assert CalibrationRun.objects.get(pk=run.pk).evidence == kept
