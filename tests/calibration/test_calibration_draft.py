"""The draft rate book of a calibration: what moves, what stays, and who may make it."""

import pytest

from orders.calibration.services import NotEnoughEvidence, calibration_draft_book
from orders.common.errors import RoleMissing, WrongState
from orders.common.stamp import Stamp
from orders.estimates.models import RateBook
from orders.estimates.services import rate_book_discard
from tests import build
from tests.calibration.closed import RATIOS, calibrated, closed_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def desk(moment):
    return Stamp(by=build.UserFactory(roles=["coordinator"]), at=moment)


@pytest.fixture
def closed():
    return closed_build(RATIOS)


def rates(book):
    return {rate.line: rate for rate in book.rates.all()}


def test_it_moves_rates_with_evidence_and_leaves_the_others(closed, desk, moment):
    run = calibrated(closed, moment)
    found = rates(calibration_draft_book(run=run, stamp=desk))
    ratio = run.result["forms"][0]["ratio"]
    assert float(found[1].value) == pytest.approx(100 * ratio, rel=1e-3)
    assert float(found[3].value) == pytest.approx(4 * run.result["methods"][0]["ratio"], rel=1e-3)
    assert (found[2].value, found[2].source, found[4].value) == ("40", "invented", "8")


def test_it_says_in_the_source_what_the_change_rests_on(closed, desk, moment):
    found = rates(calibration_draft_book(run=calibrated(closed, moment), stamp=desk))
    source = found[1].source
    assert source.startswith("calibrated on 10 closed orders, Winter 2027: ×1.5")
    assert source.endswith("; was 100 h/ha, invented")


def test_it_learns_the_spreads_too(closed, desk, moment):
    run = calibrated(closed, moment)
    found = rates(calibration_draft_book(run=run, stamp=desk))
    assert float(found[1].shared_spread) == pytest.approx(max(0.05, run.result["forms"][0]["log_sd"]), rel=0.01)
    assert float(found[1].own_spread) == pytest.approx(0.35 * run.result["own_spread_factor"], rel=0.01)


def test_it_is_a_draft_that_nobody_has_put_in_force(closed, desk, moment):
    run = calibrated(closed, moment)
    book = calibration_draft_book(run=run, stamp=desk)
    assert (book.state, book.name, book.edition) == ("draft", "Reference", closed.book.edition + 1)
    assert RateBook.objects.get(state="in_force") == closed.book
    assert run.draft == book


def test_it_is_made_once_and_again_after_it_was_discarded(closed, desk, moment):
    run = calibrated(closed, moment)
    book = calibration_draft_book(run=run, stamp=desk)
    with pytest.raises(WrongState, match="already"):
        calibration_draft_book(run=run, stamp=desk)
    rate_book_discard(book=book, stamp=desk)
    run.refresh_from_db()
    assert calibration_draft_book(run=run, stamp=desk).state == "draft"


def test_it_is_refused_without_evidence(desk, moment):
    run = calibrated(closed_build(RATIOS[:3]), moment)
    with pytest.raises(NotEnoughEvidence):
        calibration_draft_book(run=run, stamp=desk)


def test_it_is_refused_before_the_run_is_done(desk):
    with pytest.raises(WrongState, match="not finished"):
        calibration_draft_book(run=build.CalibrationRunFactory(), stamp=desk)


@pytest.mark.parametrize("role", ["finance", "crew_lead", "pesticide_supervisor"])
def test_it_is_a_coordinators_to_make(closed, moment, role):
    run = calibrated(closed, moment)
    with pytest.raises(RoleMissing):
        calibration_draft_book(run=run, stamp=Stamp(by=build.UserFactory(roles=[role]), at=moment))


def test_it_moves_the_old_rate_where_the_book_in_force_has_changed_since(closed, desk, moment):
    """The ratio is against the rates that the orders were estimated with; what else changed since stays changed."""
    run = calibrated(closed, moment)
    RateBook.objects.filter(pk=closed.book.pk).update(state="retired")
    newer = build.RateBookFactory(name="Reference", edition=closed.book.edition + 1, state="in_force")
    for rate in closed.book.rates.all():
        changed = {1: "130", 2: "55"}.get(rate.line, rate.value)
        rate.pk, rate.book, rate.value = None, newer, changed
        rate.save()
    found = rates(calibration_draft_book(run=run, stamp=desk))
    assert float(found[1].value) == pytest.approx(100 * run.result["forms"][0]["ratio"], rel=1e-3)
    assert found[2].value == "55"
