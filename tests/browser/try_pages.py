"""Pages of trials, in the states that look different: not tried yet, heat, too much of it, and a refused mix."""

from typing import Any

from tests import build
from tests.desk.pages.estimated import estimates_made

CREW = "role-crew-member=2&role-applicator=1&role-sawyer=1"


def imazapyr_mix() -> Any:
    """A mix for stems that acts through the soil."""
    product = build.ProductFactory(
        code="NORTH-7", name="Northline 7", ingredients={"imazapyr": 240.0}, caps=[], soil_active=True
    )
    build.LabelCapFactory(product=product, ingredient="imazapyr", kg_ae_per_ha=1.68)
    build.PriceFactory(kind="product", code="NORTH-7", price_e4=381_000)
    stem = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 1.0}
    return build.MixFactory(code="STEM-7", name="Stem 50%", products=[(product, 50.0, "herbicide")], **stem)


def _address(query: str = "", method: str = "cut-stem", **facts: Any) -> str:
    made = estimates_made()[method]
    type(made.survey).objects.filter(pk=made.survey_id).update(**facts)
    return f"/estimates/{made.public_id}/try/?{query}"


def plain() -> str:
    return _address().rstrip("?")


def heat() -> str:
    return _address(f"{CREW}&air_temperature_f=98&workload=heavy&new_workers=1&returning_workers=1&day_in_heat=1")


def heat_stops() -> str:
    return _address(f"{CREW}&air_temperature_f=112&workload=heavy", "hand-pull")


def refused() -> str:
    imazapyr_mix()
    return _address(f"{CREW}&mix=STEM-7", desirable_tree_roots="yes")


def wrong() -> str:
    return _address(f"{CREW}&air_temperature_f=hot&day_in_heat=0")
