"""Places and things as they are set up: lists, empty lists, pages of one, and what the service says at its field."""

from datetime import date

from orders.estimates.services import methods_load
from orders.sites.models import GrowthForm
from tests import build
from tests.browser.product_pages import STEMS, YEAR
from tests.flow.world import csv_rows


def _site() -> str:
    site = build.SurveyFactory(
        patch__code="P-9",
        geometry=build.square(-85.6, 38.2),
        patch__site=build.SiteFactory(name="Harrow Knob", access_notes="Keep the cattle gate shut."),
    ).patch.site
    return f"/setup/sites/{site.public_id}/"


def _sites() -> str:
    _site()
    build.SiteFactory(name="Lantern Bluff", jurisdiction=build.JurisdictionFactory(code="IN"))
    build.ChecklistQuestionFactory()
    return "/setup/sites/"


def _jurisdictions() -> str:
    _sites()
    return "/setup/jurisdictions/"


def _jurisdiction() -> str:
    return f"/setup/jurisdictions/{build.JurisdictionFactory().public_id}/"


def _growth_form() -> str:
    return f"/setup/growth-forms/{GrowthForm.objects.get(code='shrub').public_id}/"


def _questions() -> str:
    build.ChecklistAnswerFactory()
    build.ChecklistQuestionFactory(question="Who of the neighbors was told, and when?")
    return "/setup/checklist/"


def _question() -> str:
    return f"/setup/checklist/{build.ChecklistQuestionFactory().public_id}/"


def _species() -> str:
    build.SpeciesFactory()
    build.SpeciesFactory(code="LOJA", common_name="vine honeysuckle", fruit_first_month=None, fruit_last_month=None)
    return "/setup/species/"


def _species_one() -> str:
    return f"/setup/species/{build.SpeciesFactory().public_id}/"


def _methods() -> str:
    saw = build.EquipmentFactory(code="brush-saw", name="Brush saw")
    stamp = build.stamp()
    kinds = {"cut-stem": build.QualificationKindFactory(name="Certified applicator")}
    rows = [row for row in csv_rows("methods.csv") if row["code"] in {"cut", "cut-stem", "dig"}]
    for method in methods_load(rows=rows, qualification=kinds, mix={}, stamp=stamp):
        build.MethodEquipmentFactory(method=method, equipment=saw)
    book = build.RateBookFactory(state="in_force")
    build.RateFactory(book=book, method="cut", growth_form="climbing")
    return "/setup/methods/"


def _method(code: str) -> str:
    _methods()
    return f"/setup/methods/{build.MethodFactory(code=code).public_id}/"


def _chains() -> str:
    build.ChainRuleFactory()
    return "/setup/chains/"


def _chain() -> str:
    return f"/setup/chains/{build.ChainRuleFactory().public_id}/"


def _mixes() -> str:
    _mix()
    return "/setup/mixes/"


def _mix() -> str:
    product = build.ProductFactory(name="Ketterline T-360", uses=[STEMS])
    dye = build.ProductFactory(name="Ketterline Marker Blue", is_herbicide=False)
    mix = build.MixFactory(name="Foliar, 2%", products=[(product, 2.0, "herbicide"), (dye, 0.25, "dye")])
    build.MethodFactory(code="spot-foliar", default_mix=mix)
    return f"/setup/mixes/{mix.public_id}/"


def _prices() -> str:
    _price()
    return "/setup/prices/?when=all"


def _price() -> str:
    for year in (2024, 2025, 2026):
        row = build.PriceFactory(kind="fuel", from_day=date(year, 1, 1), price_e4=year * 5)
    return f"/setup/prices/{row.public_id}/"


def _equipment() -> str:
    build.MethodEquipmentFactory()
    return "/setup/equipment/"


def _equipment_one() -> str:
    return f"/setup/equipment/{build.EquipmentFactory().public_id}/"


def _permits() -> str:
    _permit()
    return "/setup/permits/?when=all"


def _permit() -> str:
    product, site = build.ProductFactory(), build.SiteFactory()
    return f"/setup/permits/{build.VolunteerPermitFactory(for_products=[product], on_sites=[site]).public_id}/"


def _permit_new() -> str:
    _permit()
    return "/setup/permits/new/"


def _product(more: str = "") -> str:
    build.JurisdictionFactory(code="KY")
    build.MethodFactory(code="cut-stem")
    made = build.ProductFactory(name="Ketterline T-360", uses=[STEMS], caps=[YEAR], reviewed_on=None, reviewed_by="")
    return f"/setup/products/{made.public_id}/{more}"


STATES = {
    "setup-sites": _sites,
    "setup-sites-empty": lambda: "/setup/sites/",
    "setup-site": _site,
    "setup-site-new": lambda: "/setup/sites/new/",
    "setup-jurisdictions": _jurisdictions,
    "setup-jurisdiction": _jurisdiction,
    "setup-jurisdiction-new": lambda: "/setup/jurisdictions/new/",
    "setup-growth-forms": lambda: "/setup/growth-forms/",
    "setup-growth-form": _growth_form,
    "setup-questions": _questions,
    "setup-question": _question,
    "setup-species": _species,
    "setup-species-one": _species_one,
    "setup-methods": _methods,
    "setup-method": lambda: _method("cut"),
    "setup-method-lacking": lambda: _method("cut-stem"),
    "setup-chains": _chains,
    "setup-chain": _chain,
    "setup-mixes": _mixes,
    "setup-mix": _mix,
    "setup-mix-new": lambda: "/setup/mixes/new/",
    "setup-prices": _prices,
    "setup-price": _price,
    "setup-price-new": lambda: "/setup/prices/new/",
    "setup-equipment": _equipment,
    "setup-equipment-one": _equipment_one,
    "setup-permits": _permits,
    "setup-permit": _permit,
    "setup-permit-new": _permit_new,
    "setup-product": _product,
    "setup-product-new": lambda: "/setup/products/new/",
    "setup-product-review": lambda: _product("review/"),
    "setup-product-document": lambda: _product("document/"),
}
