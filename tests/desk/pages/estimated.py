"""One steep patch under vines, estimated by every method that fits, with a mix for stems and all kinds of prices."""

from datetime import date
from typing import Any

from orders import flow
from orders.common.stamp import Stamp
from orders.estimates.models import Estimate
from orders.estimates.services import methods_load, rate_book_draft, rate_book_put_in_force
from tests import build
from tests.flow.world import BEGIN, csv_rows

ON = BEGIN.date()
RATES = {"crew-member": 240_000, "applicator": 312_500, "sawyer": 287_755}
PRICES = (
    ("mileage", "mileage", 7_250),
    ("bag", "bag", 9_000),
    ("fuel", "fuel", 11_337),
    ("blade", "blade", 285_000),
    ("equipment", "cut-stem", 41_250),
    ("contract", "cut-stem", 48_000_000),
)


def _patch() -> None:
    patch = build.PatchFactory(code="V-07", name="Old <orchard>", site__code="HOLLOW", site__drive_minutes=25)
    shared = {"patch": patch, "gross_area_m2": 2_600, "slope_deg": 24, "ground": "rough", "minutes_from_gate": 9}
    survey = build.SurveyFactory(**shared, distance_to_water_m=80, desirable_tree_roots="no", components=[])
    species = build.SpeciesFactory(code="EUFO", evergreen=True, resprouts=True, pulled_stems_reroot="yes")
    cover = {"cover_low": 0.25, "cover_likely": 0.375, "cover_high": 0.5, "cover_is_class": True}
    where = {"survey": survey, "species": species, **cover}
    climbing = build.GrowthFormFactory(code="climbing")
    stems = {"stems_small": 120, "stems_medium": 46, "stems_large": 9, "height_m": 11}
    build.SurveyComponentFactory(**where, growth_form=climbing, infested_area_m2=640, **stems)
    build.SurveyComponentFactory(**where, growth_form=build.GrowthFormFactory(code="sprawling"), infested_area_m2=300)


def _mix() -> Any:
    product = build.ProductFactory(code="MAST-41", name="Mastline 41")
    dye = build.ProductFactory(code="TRACE-B", name="Trace Blue", is_herbicide=False)
    build.PriceFactory(kind="product", code="MAST-41", price_e4=221_119)
    build.PriceFactory(kind="product", code="TRACE-B", price_e4=180_500)
    parts = [(product, 50.0, "herbicide"), (dye, 0.5, "dye")]
    dosed = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 1.5, "tank_l": 2.0}
    return build.MixFactory(code="STEM-50", products=parts, **dosed)


def rates_load(stamp: Stamp, mix: Any) -> None:
    methods_load(rows=csv_rows("methods.csv"), qualification={}, mix={"cut-stem": mix}, stamp=stamp)
    book = rate_book_draft(
        name="Reference",
        rows=csv_rows("rate_book.csv"),
        standard_crew={"crew-member": 3, "applicator": 1, "sawyer": 1},
        skill_roles={"crew": "crew-member", "applicator": "applicator", "sawyer": "sawyer"},
        stamp=stamp,
    )
    rate_book_put_in_force(book=book, from_day=ON, stamp=stamp)


def estimates_made() -> dict[str, Estimate]:
    """By method."""
    for code, rate_e4 in RATES.items():
        build.StandardRateFactory(role=build.LaborRoleFactory(code=code), from_day=date(2026, 1, 1), rate_e4=rate_e4)
    for kind, code, price_e4 in PRICES:
        build.PriceFactory(kind=kind, code=code, price_e4=price_e4)
    stamp = build.stamp(at=BEGIN)
    _patch()
    rates_load(stamp, _mix())
    return {row.method.code: row for row in flow.estimate_patches(on=ON, stamp=stamp)}
