"""A draft order to spray one patch with one product, and what it takes to change one thing about it."""

from datetime import date

from orders.supplies.models import Product
from tests import build

SPRAY = "spot-foliar"
TODAY = date(2027, 2, 1)


def herbicide(**label):
    return build.ProductFactory(**{"code": "herb", "uses": [SPRAY], **label})


def elsewhere(east=0.0, north=0.0, side=0.001):
    """A square beside the usual one, in degrees."""
    box = {"min_lon": -85.7 + east, "min_lat": 38.2 + north, "max_lon": -85.7 + east + side}
    square = build.square(-85.7 + east, 38.2 + north, side)
    return {"geometry": square, "max_lat": 38.2 + north + side, **box}


def issued(order):
    order.state = "issued"
    order.save()
    return order


def closed_with(order, *, amount=1_000_000, percent=None, lot=None, **use):
    """The order closed, its product used as given: microliters, on its one visit."""
    order.state = "closed"
    order.save()
    visit = order.order_visits.get().visit
    close_out = build.CloseOutFactory(order=order)
    share = visit.shares.get()
    if percent is not None:
        build.PatchOutcomeFactory(close_out=close_out, prescription=share.prescription, percent_complete=percent)
    code = next(iter(share.prescription.estimate.products_ul))
    lot = lot or build.StockLotFactory(product=Product.objects.get(code=code))
    build.MaterialUseFactory(close_out=close_out, visit=visit, lot=lot, amount=amount, **use)
    return order


def spray_order(*, milliliters=200, crew_qualified=True, area_m2=1000.0, product=None, on=None, **survey):
    """One visit on one patch; `survey` changes what the survey says of the patch."""
    product = product or herbicide()
    kind = build.QualificationKindFactory(code="certified-applicator")
    method = build.MethodFactory(code=SPRAY, uses_herbicide=True, qualification=kind)
    patch = survey.pop("patch", None) or build.PatchFactory()
    crew = build.CrewFactory(people=3, qualifications=["certified-applicator"] if crew_qualified else [])
    said = {"distance_to_water_m": 200.0, "desirable_tree_roots": "no", **survey}
    estimate = build.EstimateFactory(
        survey=build.SurveyFactory(patch=patch, gross_area_m2=area_m2, **said),
        method=method,
        treated_area_m2=area_m2,
        products_ul={product.code: milliliters * 1000},
    )
    prescription = build.PrescriptionFactory(patch=patch, estimate=estimate, state="ordered")
    visit = build.VisitFactory(
        crew=crew, site=patch.site, season=prescription.season, state="ordered", day=on or date(2027, 2, 10)
    )
    build.VisitShareFactory(visit=visit, prescription=prescription)
    return build.WorkOrderFactory(crew=crew, site=patch.site, season=prescription.season, visits=[visit])
