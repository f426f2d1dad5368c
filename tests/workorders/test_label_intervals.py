"""Days between two uses of a product on the same ground, and uses a year: mandatory limits of the label."""

from datetime import date, timedelta

import pytest

from orders import flow
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.planning.moving import MoveBreaks
from orders.supplies.models import Product
from orders.workorders.guards import LabelForbids
from orders.workorders.label_checks import label_findings, label_findings_moved
from orders.workorders.models import WorkOrder
from orders.workorders.product_uses import herbicide_use_days
from orders.workorders.selectors import order_visits
from tests import build
from tests.flow.world import world_build
from tests.planning.small import FRIDAY, MONDAY, accepted, asked

pytestmark = pytest.mark.django_db
TODAY = date(2027, 2, 1)
LATER = MONDAY + timedelta(days=40)


@pytest.fixture
def world():
    return world_build()


@pytest.fixture
def product() -> Product:
    uses = [{"method": "spot-foliar", "least_days_between": 30, "most_uses_a_year": 2}]
    return build.ProductFactory(code="invented-glyphosate", uses=uses)


def _spray(world, product, patch=None, **facts):
    method = build.MethodFactory(code="spot-foliar")
    more = {"estimate__products_ul": {product.code: 10_000}, "estimate__treated_area_m2": 900.0, "method": method}
    return asked(world, "A", 0.3, patch=patch or world.patch, **more, **facts)


def _used(world, product, prescription, day):
    """A closed order on which the product was used."""
    visit = build.VisitFactory(season=world.season, crew=world.crew, site=world.patch.site, day=day, state="done")
    build.VisitShareFactory(visit=visit, prescription=prescription)
    order = build.WorkOrderFactory(
        season=world.season,
        site=world.patch.site,
        state="closed",
        visits=[visit],
        number=900 + WorkOrder.objects.count(),
    )
    out = build.CloseOutFactory(order=order, work_date=day)
    lot = build.StockLotFactory(product=product)
    build.MaterialUseFactory(close_out=out, visit=visit, lot=lot, work_date=day, prescription=prescription)
    build.PatchOutcomeFactory(close_out=out, prescription=prescription)


def _codes(findings):
    return [finding.code for finding in findings if finding.code in {"interval-too-short", "too-many-uses"}]


def _sprayed_before(world, product, *days):
    for day in days:
        _used(world, product, _spray(world, product, state="done"), day)
    _spray(world, product, last_day=LATER)
    (order,) = accepted(world)
    return order


def test_it_finds_a_use_that_comes_too_soon(world, product):
    order = _sprayed_before(world, product, MONDAY - timedelta(days=20))
    (finding,) = [one for one in label_findings(order, today=TODAY) if one.code == "interval-too-short"]
    assert "20 days" in finding.message
    assert not finding.overridable


def test_it_lets_a_use_pass_once_the_days_are_over(world, product):
    order = _sprayed_before(world, product, MONDAY - timedelta(days=30))
    assert _codes(label_findings(order, today=TODAY)) == []


def test_it_counts_uses_of_a_calendar_year(world, product):
    order = _sprayed_before(world, product, date(2027, 1, 5), date(2027, 1, 12))
    assert _codes(label_findings(order, today=TODAY)) == ["too-many-uses"]


def test_it_does_not_count_uses_of_another_year_or_another_patch(world, product):
    elsewhere = build.PatchFactory(site=world.patch.site)
    box = {"min_lon": -85.1, "max_lon": -85.099, "min_lat": 38.9, "max_lat": 38.901}
    geometry = {"type": "Point", "coordinates": [-85.1, 38.9]}
    for _ in range(2):
        far = _spray(
            world,
            product,
            patch=elsewhere,
            state="done",
            estimate__survey__geometry=geometry,
            **{f"estimate__survey__{name}": value for name, value in box.items()},
        )
        _used(world, product, far, MONDAY)
    order = _sprayed_before(world, product, date(2026, 1, 5), date(2026, 8, 12))
    assert _codes(label_findings(order, today=TODAY)) == []


def test_it_takes_the_days_of_one_pass_as_one_use(world, product):
    prescription = _spray(world, product)
    for day in (MONDAY, MONDAY + timedelta(days=1)):
        visit = build.VisitFactory(
            season=world.season, crew=world.crew, site=world.patch.site, day=day, state="ordered"
        )
        build.VisitShareFactory(visit=visit, prescription=prescription, share=0.5)
    visits = list(prescription.visit_shares.values_list("visit", flat=True))
    order = build.WorkOrderFactory(season=world.season, site=world.patch.site, crew=world.crew)
    for visit in visits:
        build.OrderVisitFactory(order=order, visit_id=visit, visit=None)
    assert _codes(label_findings(order, today=TODAY)) == []


def test_it_tells_what_a_move_would_break_and_refuses_it(world, product):
    order = _sprayed_before(world, product, MONDAY - timedelta(days=28))
    visit = order_visits(order).get()
    flow.move_visit(visit=visit, crew=world.crew, day=FRIDAY, keep=False, stamp=world.stamp())
    visit = order_visits(order).get()
    assert _codes(label_findings_moved(visit, FRIDAY)) == []
    assert _codes(label_findings_moved(visit, MONDAY)) == ["interval-too-short"]
    with pytest.raises(MoveBreaks, match="its label asks for 30"):
        flow.move_visit(visit=visit, crew=world.crew, day=MONDAY, keep=False, stamp=world.stamp(reason="Rain later."))


def test_it_refuses_to_issue_an_order_that_sprays_too_soon(world, product):
    order = _sprayed_before(world, product, MONDAY - timedelta(days=20))
    order_fund(order=order, shares=[Payer(fund=world.fund, award=None, share_e4=10_000)], stamp=world.stamp())
    with pytest.raises(LabelForbids) as refused:
        flow.issue_order(order=order, stamp=world.stamp())
    assert "interval-too-short" in {error.code for error in refused.value.errors}


def test_it_knows_the_days_on_which_a_patch_was_sprayed(world, product):
    _sprayed_before(world, product, date(2027, 1, 5), date(2027, 1, 12))
    assert herbicide_use_days() == {(world.patch.pk, product.code): [date(2027, 1, 5), date(2027, 1, 12)]}
