"""A draft order to spray one patch with one product, and what it takes to change one thing about it."""

from datetime import date

from tests import build

SPRAY = "spot-foliar"
TODAY = date(2027, 2, 1)


def spray_order(*, milliliters=200, crew_qualified=True, area_m2=1000.0, product=None, on=None, **survey):
    """One visit on one patch; `survey` changes what the survey says of the patch."""
    product = product or build.ProductFactory(code="herb", uses=[SPRAY])
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
