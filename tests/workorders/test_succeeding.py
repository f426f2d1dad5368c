"""What rests on a patch that is to be split or merged, and what is asked for on one that ended."""

import json

import pytest

from orders.common.errors import Invalid, WrongState
from orders.planning.services import prescription_add
from orders.sites.cutting import cut_by_line
from orders.sites.services import Piece
from orders.sites.sharing import shape_of
from orders.workorders.succeeding import merge_patches, split_patch, undo_succession, work_resting
from tests import build
from tests.build.base import square
from tests.sites.sheets import newest
from tests.sites.test_succession import patch_build

pytestmark = pytest.mark.django_db
LINE = json.dumps({"type": "LineString", "coordinates": [[-85.69975, 38.199], [-85.69975, 38.202]]})


@pytest.fixture
def because(stamp):
    return stamp.because("The brook parts them")


def pieces(patch):
    cut = cut_by_line(shape_of(newest(patch)), LINE)
    return [Piece(code, piece) for code, piece in zip(("E", "W"), cut, strict=True)]


def visit_of(patch, state, order=None):
    wish = build.PrescriptionFactory(patch=patch, state="ordered" if order else "planned")
    share = build.VisitShareFactory(prescription=wish)
    share.visit.state = state
    share.visit.save()
    if order:
        build.OrderVisitFactory(order=build.WorkOrderFactory(state=order), visit=share.visit)
    return share


@pytest.mark.parametrize(
    ("state", "order", "holds"),
    [
        ("planned", None, True),
        ("proposed", None, False),
        ("dropped", None, False),
        ("ordered", "draft", True),
        ("ordered", "underway", True),
        ("done", "closed", False),
    ],
)
def test_orders_and_planned_visits_hold_a_patch(state, order, holds):
    patch = patch_build()
    visit_of(patch, state, order)
    assert bool(work_resting([patch])) == holds


def test_one_held_patch_keeps_both_from_merging(because):
    one = patch_build("B-04")
    other = patch_build("B-05", site=one.site, geometry=square(lon=-85.699))
    visit_of(other, "ordered", "issued")
    with pytest.raises(WrongState) as refused:
        merge_patches(patches=[one, other], code="B-9", stamp=because)
    assert "B-05" in refused.value.errors[0].message
    one.refresh_from_db()
    assert one.ended_on is None


def test_what_was_only_asked_for_is_dropped_with_its_follow_ups(because):
    patch = patch_build()
    first = build.PrescriptionFactory(patch=patch)
    later = build.PrescriptionFactory(
        patch=patch, season=first.season, estimate=first.estimate, origin="follow_up", follows=first
    )
    split_patch(patch=patch, pieces=pieces(patch), stamp=because)
    for row in (first, later):
        row.refresh_from_db()
        assert row.state == "dropped"


def test_a_split_that_is_refused_drops_nothing(because):
    patch = patch_build()
    wish = build.PrescriptionFactory(patch=patch)
    with pytest.raises(Invalid):
        split_patch(patch=patch, pieces=pieces(patch)[:1], stamp=because)
    wish.refresh_from_db()
    assert wish.state == "open"


def test_what_is_asked_for_on_a_piece_keeps_the_split(because):
    patch = patch_build()
    made = split_patch(patch=patch, pieces=pieces(patch), stamp=because)
    estimate = build.EstimateFactory(survey=newest(made.after[0]))
    wish = build.PrescriptionFactory(patch=made.after[0], estimate=estimate)
    with pytest.raises(WrongState, match="prescriptions use"):
        undo_succession(event=made.event, stamp=because)
    wish.state = "dropped"
    wish.save()
    undo_succession(event=made.event, stamp=because)
    patch.refresh_from_db()
    assert patch.ended_on is None


def test_nothing_is_asked_for_on_a_patch_that_ended(because):
    patch = patch_build()
    estimate = build.EstimateFactory(survey=newest(patch))
    split_patch(patch=patch, pieces=pieces(patch), stamp=because)
    estimate.survey.patch.refresh_from_db()
    season = build.SeasonFactory()
    with pytest.raises(Invalid, match="split or merged"):
        prescription_add(
            season=season,
            estimate=estimate,
            first_day=season.first_day,
            last_day=season.last_day,
            window_because="All year",
            why="Slip",
            stamp=because,
        )
