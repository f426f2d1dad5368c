"""Products in the states that look different: reviewed, with gaps, acting through the soil, and none at all."""

from tests import build

SPRAYED = {"method": "spot-foliar", "max_percent_vv": 5.0, "max_l_per_ha": 11.7, "reference": "Label, section 3"}
STEMS = {"method": "cut-stem", "max_percent_vv": 100.0, "reference": "Label, section 3"}
YEAR = {"kg_ae_per_ha": 8.967, "reference": "Label, section 4"}
POLICY = {"kg_ae_per_ha": 5.604, "period": "application", "kind": "program-policy", "reference": "Program spray policy"}
WIND = {"low": 0.89, "high": 4.47, "reference": "Label, section 2"}
COLD = {"measure": "temperature_c", "low": 4.4, "high": None, "reference": "Label, section 2"}


def product() -> str:
    build.MethodFactory(code="spot-foliar", name="growing-season spot foliar spray")
    build.MethodFactory(code="cut-stem", name="cut-stem treatment")
    made = build.ProductFactory(
        name="Ketterline T-360",
        uses=[SPRAYED, STEMS],
        caps=[YEAR, POLICY],
        weather=[WIND, COLD],
        signal_word="DANGER",
        rain_free_hours=6,
        restricted_entry_hours=48,
        protective_equipment="Long sleeves and trousers, chemical-resistant gloves, goggles or a face shield",
        cautions="Burns the eyes: rinse for 15 minutes and get help.",
        storage_note="Keep locked, dry and in its own container. Keep from freezing.",
    )
    for kind in ("label", "sds"):
        build.ProductDocumentFactory(product=made, kind=kind)
    return f"/products/{made.public_id}/"


def product_with_gaps() -> str:
    facts = {"name": "Ketterline Y-240", "ingredients": {"imazapyr": 240.0}, "caps": [], "soil_active": True}
    return f"/products/{build.ProductFactory(reviewed_on=None, least_water_distance_m=30, **facts).public_id}/"


def products() -> str:
    product()
    product_with_gaps()
    build.ProductFactory(code="dye", name="Ketterline Marker Blue", is_herbicide=False, cautions="Stains skin.")
    return "/products/"
