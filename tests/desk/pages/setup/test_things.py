"""Methods, chains, products, mixes, prices, equipment and permits, as the pages show and change them."""

from datetime import date

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from orders.estimates.models import Method
from orders.planning.models import ChainRule
from orders.supplies.models import Equipment, Mix, Price, Product, ProductDocument, VolunteerPermit
from tests import build
from tests.desk.pages.setup.kit_words import page_of, saved
from tests.desk.pages.setup.typed import typed
from tests.flow.world import csv_rows

pytestmark = pytest.mark.django_db
LISTS = (
    "setup-methods",
    "setup-chains",
    "setup-mixes",
    "setup-prices",
    "setup-equipment",
)
CUT = next(row for row in csv_rows("methods.csv") if row["code"] == "cut")


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel("2026-12-01T15:00:00Z", tick=False):
        yield


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.mark.parametrize("name", [*LISTS, "setup-permits"])
def test_it_says_what_they_are_for_where_there_is_none(desk, name):
    page = page_of(desk, name)
    assert "None yet" in page
    assert "/new/" in page


METHOD = {
    "code": "lop",
    "name": "lopping",
    "summary": "Cut with loppers.",
    "growth_forms": ["climbing", "shrub"],
    "season_rule": "any time",
    "lowest_temp_c": "5",  # °F
    "highest_slope_deg": "40",
    "smallest_use": "any",
    "needs_follow_up_days": "60",
    "source": "common practice",
}


def test_it_adds_a_method_and_says_that_no_book_has_rates_for_it(desk):
    saved(desk, reverse("setup-method-new"), METHOD)
    method = Method.objects.get()
    assert (method.facts["growth_forms"], method.facts["treats_stems"]) == ("climbing|shrub", "no")
    assert method.facts["lowest_temp_c"] == "-15"
    assert 'value="5.0"' in page_of(desk, "setup-method", method.public_id)
    assert "No rate book in force has rates for it" in page_of(desk, "setup-method", method.public_id)
    assert "none: not offered" in page_of(desk, "setup-methods")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"uses_herbicide": "on", "needs_license": "on"}, "qualification"),
        ({"lowest_temp_c": "cold"}, "lowest_temp_c"),
        ({"growth_forms": []}, "growth_forms"),
    ],
)
def test_it_says_at_the_field_what_is_wrong_with_a_method(desk, changed, field):
    reply = desk.post(reverse("setup-method-new"), {**METHOD, **changed})
    assert reply.status_code == 400
    assert f'id="id_{field}_error"' in reply.content.decode()
    assert not Method.objects.exists()


def test_it_changes_a_method_and_what_a_crew_has_with_it(desk):
    method, saw = build.MethodFactory(code="cut", facts=CUT), build.EquipmentFactory(code="saw")
    address = reverse("setup-method", args=[method.public_id])
    values = typed(desk.get(address), name="chopping")
    saved(desk, address, values)
    assert desk.post(address, values).status_code == 412
    needs = {"version": Method.objects.get().version, "of-saw": "2"}
    saved(desk, reverse("setup-method-needs", args=[method.public_id]), needs)
    assert saw.method_needs.get().units_per_crew == 2
    assert desk.post(reverse("setup-method-needs", args=[method.public_id]), needs).status_code == 412
    assert Method.objects.get().name == "chopping"


def test_it_adds_and_ends_a_rule_of_a_chain(desk):
    build.MethodFactory(code="cut")
    values = {
        "code": "again",
        "after": "cut",
        "species": "any",
        "purpose": "regrowth",
        "method": "cut",
        "least_days": "30",
        "most_days": "90",
        "share": "0.3",
        "source": "common practice",
    }
    saved(desk, reverse("setup-chain-new"), values)
    rule = ChainRule.objects.get()
    address = reverse("setup-chain", args=[rule.public_id])
    ended = typed(desk.get(address))
    del ended["is_active"]
    saved(desk, address, ended)
    assert ChainRule.objects.get().is_active is False
    reply = desk.post(reverse("setup-chain-new"), {**values, "code": "wrong", "most_days": "3"})
    assert 'id="id_most_days_error"' in reply.content.decode()


@pytest.fixture
def product():
    for code in ("cut-stem", "dormant-foliar", "spot-foliar"):
        build.MethodFactory(code=code)
    build.JurisdictionFactory(code="KY")
    return build.ProductFactory(caps=[{"kg_ae_per_ha": 8.967, "reference": "Label, section 4"}])


def test_it_saves_a_label_that_nobody_touched_without_a_change(desk, product):
    address = reverse("setup-product", args=[product.public_id])
    saved(desk, address, typed(desk.get(address)))
    assert Product.objects.get().version == 1


def test_it_keeps_what_a_label_says_in_its_own_units(desk, product):
    address = reverse("setup-product", args=[product.public_id])
    values = typed(desk.get(address), reviewed_on="2026-11-30", reviewed_by="Q. Licensed")
    assert (values["caps-0-kg_ae_per_ha"], values["ingredients-0-ae_g_per_l"]) == (8.0, 4.006)
    saved(
        desk,
        address,
        {**values, "caps-0-kg_ae_per_ha": "4", "weather-0-measure": "wind_m_s", "weather-0-high": "10"}
        | {"weather-0-kind": "label-mandatory", "weather-0-reference": "section 2"},
    )
    kept = Product.objects.get()
    assert kept.caps.get().kg_ae_per_ha == pytest.approx(4.483, abs=0.0005)
    assert kept.ingredients.get().ae_g_per_l == 480.0
    assert kept.label_weather.get().high == pytest.approx(4.4704)


def test_it_asks_for_a_new_review_of_facts_that_differ(desk, product):
    address = reverse("setup-product", args=[product.public_id])
    reply = desk.post(address, typed(desk.get(address), rain_free_hours="3", reviewed_on="2026-10-01"))
    assert reply.status_code == 400
    assert 'id="id_reviewed_on_error"' in reply.content.decode()


def test_it_says_at_the_row_what_is_wrong_with_it(desk, product):
    address = reverse("setup-product", args=[product.public_id])
    reply = desk.post(address, typed(desk.get(address), **{"caps-0-reference": ""}))
    assert reply.status_code == 400
    assert 'id="id_caps-0-reference_error"' in reply.content.decode()


def test_it_adds_rows_without_scripts_and_keeps_what_was_typed(desk, product):
    address = reverse("setup-product", args=[product.public_id])
    reply = desk.post(address, typed(desk.get(address), more="uses", name="Half typed"))
    assert reply.status_code == 200
    assert (len(reply.context["forms"].uses), reply.context["form"]["name"].value()) == (6, "Half typed")
    assert Product.objects.get().name != "Half typed"


def test_it_adds_a_product_and_tells_what_is_missing_and_where_to_find_it(desk):
    values = {"code": "x-1", "name": "Invented X", "is_herbicide": "on", "ingredients-0-ingredient": "glyphosate"}
    saved(desk, reverse("setup-product-new"), values | {"ingredients-0-ae_g_per_l": "4"})
    page = page_of(desk, "product", Product.objects.get().public_id)
    assert "To settle before it is used" in page
    assert "the most in a year" in page


def test_it_refuses_a_herbicide_without_an_ingredient(desk):
    reply = desk.post(reverse("setup-product-new"), {"code": "x-1", "name": "Invented X", "is_herbicide": "on"})
    assert reply.status_code == 400
    assert "A herbicide names its active ingredients." in reply.content.decode()


def test_it_keeps_a_review_and_a_document(desk, product):
    address = reverse("setup-product-review", args=[product.public_id])
    told = {"reviewed_on": "2026-11-30", "reviewed_by": "Q. Licensed", "version": "1"}
    assert desk.post(address, told).status_code == 400
    saved(desk, address, told | {"has_compared": "on"})
    assert Product.objects.get().reviewed_on == date(2026, 11, 30)
    file = {"kind": "label", "language": "en", "file": SimpleUploadedFile("label.pdf", b"%PDF-1.4 invented")}
    saved(desk, reverse("setup-product-document", args=[product.public_id]), file)
    assert ProductDocument.objects.get().file_name == "label.pdf"
    wrong = {**file, "file": SimpleUploadedFile("label.pdf", b"\x00\x01\xff")}
    reply = desk.post(reverse("setup-product-document", args=[product.public_id]), wrong)
    assert 'id="id_file_error"' in reply.content.decode()


def test_labels_are_for_the_desk_and_the_pesticide_supervisor(client, product, crew_lead):
    address = reverse("setup-product", args=[product.public_id])
    client.force_login(crew_lead)
    assert client.get(address).status_code == 403
    assert "Change what the label says" not in page_of(client, "product", product.public_id)
    client.force_login(build.UserFactory(roles=["pesticide_supervisor"]))
    assert client.get(address).status_code == 200


@pytest.fixture
def mix(product):
    made = build.MixFactory(products=[(product, 2.0, "herbicide")], carrier_l_per_ha=467.7, tank_l=15.14164714)
    build.MethodFactory(code="hack-squirt", default_mix=made, uses_herbicide=True, facts={"code": "hack-squirt"})
    return made


def test_it_works_out_a_load_of_a_mix(desk, mix):
    page = page_of(desk, "setup-mix", mix.public_id)
    assert "10.2 fl oz (303 mL)" in page
    assert "0.08 acres" in page
    assert "does not allow Hack squirt" in page


def test_it_works_out_what_is_typed_and_keeps_nothing(desk, mix):
    values = typed(desk.get(reverse("setup-mix", args=[mix.public_id])), **{"parts-0-percent_vv": "50"})
    reply = desk.post(f"{reverse('setup-mix-load')}?of={mix.public_id}", values)
    assert "2.00 gal (7.57 L)" in reply.content.decode()
    assert Mix.objects.get().parts.get().percent_vv == 2.0
    shown = desk.post(reverse("setup-mix", args=[mix.public_id]), {**values, "work": "1"})
    assert (shown.status_code, "2.00 gal (7.57 L)" in shown.content.decode()) == (200, True)


def test_it_saves_a_mix_and_keeps_figures_that_nobody_touched(desk, mix):
    address = reverse("setup-mix", args=[mix.public_id])
    values = typed(desk.get(address), name="Two percent")
    saved(desk, address, values)
    kept = Mix.objects.get()
    assert (kept.name, kept.tank_l, kept.carrier_l_per_ha) == ("Two percent", 15.14164714, 467.7)
    assert desk.post(address, values).status_code == 412


def test_a_mix_says_which_methods_are_done_with_it(desk, product):
    for code in ("cut-stem", "spot-foliar"):
        build.MethodFactory(code=code)
        Method.objects.filter(code=code).update(uses_herbicide=True, facts={"code": code})
    build.MethodFactory(code="hand-pull")
    address = reverse("setup-mix-new")
    shown = desk.get(address)
    assert "Hand pull" not in shown.content.decode()
    parts = {"parts-0-product": product.code, "parts-0-part": "herbicide", "parts-0-percent_vv": "2"}
    told = typed(shown, code="TWO", name="Two percent", tank_l="4", area_basis="canopy", carrier_l_per_ha="20", **parts)
    saved(desk, address, told | {"methods": ["cut-stem"]})
    mix = Mix.objects.get(code="TWO")
    assert set(Method.objects.filter(default_mix=mix).values_list("code", flat=True)) == {"cut-stem"}
    address = reverse("setup-mix", args=[mix.public_id])
    saved(desk, address, typed(desk.get(address), methods=["spot-foliar"]))
    assert set(Method.objects.filter(default_mix=mix).values_list("code", flat=True)) == {"spot-foliar"}


def test_its_history_names_the_units_that_figures_are_kept_in(desk, mix):
    address = reverse("setup-mix", args=[mix.public_id])
    saved(desk, address, typed(desk.get(address), tank_l="5", **{"parts-0-percent_vv": "3"}))
    page = desk.get(address).content.decode()
    assert "Tank, liters: <del>15.14164714</del> → 18.92706" in page
    assert "percent vv 3.0" in page


def test_it_says_at_the_row_what_is_wrong_with_a_part(desk, mix):
    address = reverse("setup-mix", args=[mix.public_id])
    reply = desk.post(address, typed(desk.get(address), **{"parts-0-percent_vv": "", "parts-0-rate_l_per_ha": ""}))
    assert reply.status_code == 400
    assert "give a percent or a rate" in reply.content.decode()


PRICE = {"of": "fuel:fuel", "from_day": "2027-01-01", "price": "4.73", "source": "a bill"}  # a gallon


def test_it_sets_prices_and_shows_how_they_went(desk):
    before = build.PriceFactory(kind="fuel", price_e4=11_000)
    saved(desk, reverse("setup-price-new"), PRICE)
    assert Price.objects.get(from_day=date(2027, 1, 1)).price_e4 == 12_495  # 4.73 / 3.785411784, a liter
    page = page_of(desk, "setup-price", before.public_id)
    assert ("$4.16" in page, "$4.73" in page) == (True, True)
    assert "later" in page
    assert "Prices: 2" in page_of(desk, "setup-prices")
    reply = desk.post(reverse("setup-price-new"), PRICE)
    assert reply.status_code == 400
    least = desk.post(reverse("setup-price-new"), {**PRICE, "from_day": "2027-02-01", "minimum": "5"})
    assert 'id="id_minimum_error"' in least.content.decode()


def test_it_shows_the_price_that_counts_and_not_those_before(desk):
    build.PriceFactory(kind="fuel", from_day=date(2025, 1, 1))
    build.PriceFactory(kind="fuel", from_day=date(2026, 1, 1))
    assert "Prices: 1" in page_of(desk, "setup-prices")
    assert "Prices: 2" in desk.get(reverse("setup-prices"), {"when": "all"}).content.decode()


def test_it_adds_and_changes_equipment(desk):
    saved(desk, reverse("setup-equipment-new"), {"code": "saw", "name": "Saw", "count": "3"})
    row = Equipment.objects.get()
    address = reverse("setup-equipment-one", args=[row.public_id])
    values = typed(desk.get(address), count="2")
    saved(desk, address, values)
    assert (Equipment.objects.get().count, desk.post(address, values).status_code) == (2, 412)
    assert 'id="id_count_error"' in desk.post(address, {**values, "count": "-1"}).content.decode()


def test_it_adds_and_ends_a_volunteers_permit(desk, product):
    site, person = build.SiteFactory(), build.PersonFactory()
    values = {
        "person": str(person.public_id),
        "products": [str(product.public_id)],
        "sites": [str(site.public_id)],
        "trained_by": "Q. Licensed",
        "trained_on": "2026-03-01",
        "first_day": "2026-03-02",
        "last_day": "2026-12-31",
    }
    reply = desk.post(reverse("setup-permit-new"), {**values, "last_day": "2027-01-05"})
    assert 'id="id_last_day_error"' in reply.content.decode()
    saved(desk, reverse("setup-permit-new"), values)
    row = VolunteerPermit.objects.get()
    address = reverse("setup-permit", args=[row.public_id])
    saved(desk, address, typed(desk.get(address), last_day="2026-11-30"))
    assert VolunteerPermit.objects.get().last_day == date(2026, 11, 30)
    assert "Nothing here answers this" in page_of(desk, "setup-permits") or "None yet" in page_of(desk, "setup-permits")
    assert "ended" in desk.get(reverse("setup-permits"), {"when": "all"}).content.decode()


def test_who_sees_and_changes_permits(client, finance, crew_lead):
    client.force_login(finance)
    assert client.get(reverse("setup-permits")).status_code == 403
    client.force_login(crew_lead)
    assert client.get(reverse("setup-permits")).status_code == 200
    assert client.get(reverse("setup-permit-new")).status_code == 403


@pytest.mark.parametrize("name", ["setup-method-new", "setup-chain-new", "setup-price-new", "setup-equipment-new"])
def test_changing_is_the_desks(client, finance, name):
    client.force_login(finance)
    assert client.get(reverse(name)).status_code == 403


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("setup-methods", lambda number: build.MethodEquipmentFactory(method__code=f"m-{number}")),
        ("setup-mixes", lambda number: build.MixFactory()),
        ("setup-prices", lambda number: build.PriceFactory(from_day=date(2026, 1, 1 + number))),
        ("setup-chains", lambda number: build.ChainRuleFactory()),
        ("setup-permits", lambda number: build.VolunteerPermitFactory()),
    ],
)
def test_queries_do_not_grow_with_rows(desk, name, make, django_assert_max_num_queries):
    for number in range(12):
        make(number)
    with django_assert_max_num_queries(18):
        assert desk.get(reverse(name)).status_code == 200
