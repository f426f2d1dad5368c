"""Products, mixes and jurisdictions that are taken out of use: offered for nothing new, kept where they stand."""

import html

import pytest
import time_machine
from django.urls import reverse

from orders.estimates.models import Method
from orders.supplies.models import Mix, Product
from tests import build
from tests.api.caller import Caller
from tests.desk.pages.setup.kit_words import page_of, saved
from tests.flow.world import BEGIN

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _clock():
    with time_machine.travel(BEGIN, tick=False):
        yield


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


@pytest.fixture
def product():
    return build.ProductFactory(name="Ketterline")


@pytest.fixture
def mix(product):
    return build.MixFactory(name="Leaf, 2 percent", products=[(product, 2.0, "herbicide")])


def _at(name, row, act=""):
    return reverse(f"{name}-{act}" if act else name, args=[row.public_id])


def _turn(client, name, row, act):
    led_to = saved(client, _at(name, row, act), {"version": getattr(row, "version", 0)})
    assert f"{row} is" in html.unescape(client.get(led_to).content.decode())
    row.refresh_from_db()


def _refused(client, name, row):
    """What the page says that keeps it in use."""
    reply = client.post(_at(name, row, "deactivate"), {"version": getattr(row, "version", 0)})
    row.refresh_from_db()
    assert (reply.status_code, row.is_active) == (409, True)
    return html.unescape(reply.content.decode())


@pytest.mark.parametrize(("listed", "name"), [("setup-mixes", "setup-mix"), ("products", "setup-product")])
def test_the_lists_show_what_is_in_use_and_the_rest_when_asked(desk, product, listed, name):
    row = build.MixFactory(name="Old leaf") if name == "setup-mix" else product
    link = _at("product" if name == "setup-product" else name, row)
    assert "Take out of use" in page_of(desk, name, row.public_id)
    _turn(desk, name, row, "deactivate")
    assert link not in page_of(desk, listed)
    for shown in ("ended", "all"):
        page = desk.get(f"{reverse(listed)}?shown={shown}").content.decode()
        assert (link in page, "no longer in use" in page) == (True, True)
    assert "Put back in use" in page_of(desk, name, row.public_id)
    _turn(desk, name, row, "activate")
    assert link in page_of(desk, listed)


def test_a_product_stays_while_a_mix_in_use_holds_it(desk, product, mix):
    page = _refused(desk, "setup-product", product)
    assert "Ketterline stays in use: it goes into mixes that are in use." in page
    assert "Leaf, 2 percent" in page


def test_a_mix_stays_while_a_method_in_use_is_done_with_it(desk, mix):
    build.MethodFactory(code="spot", name="spot spray", uses_herbicide=True, default_mix=mix)
    assert "<li>Spot spray</li>" in _refused(desk, "setup-mix", mix)


def test_a_jurisdiction_stays_while_a_site_lies_in_it(desk):
    site = build.SiteFactory(name="Hollow")
    assert "<li>Hollow</li>" in _refused(desk, "setup-jurisdiction", site.jurisdiction)


def test_a_stale_page_takes_nothing_out(desk, product, mix):
    for name, row in (("setup-mix", mix), ("setup-product", product)):
        assert desk.post(_at(name, row, "deactivate"), {"version": row.version + 1}).status_code in (409, 412)
        row.refresh_from_db()
        assert row.is_active


def test_who_answers_for_safety_takes_products_out_and_a_lead_does_not(client, product):
    client.force_login(build.UserFactory(roles=["crew_lead"]))
    assert client.post(_at("setup-product", product, "deactivate"), {"version": 1}).status_code == 403
    client.force_login(build.UserFactory(roles=["pesticide_supervisor"]))
    _turn(client, "setup-product", product, "deactivate")
    assert not product.is_active
    place = build.JurisdictionFactory(code="OH")
    assert client.post(_at("setup-jurisdiction", place, "deactivate"), {"version": 0}).status_code == 403


def test_a_product_is_offered_for_no_new_mix_price_permit_or_purchase(client, desk, product):
    finance = build.UserFactory(roles=["finance"])
    build.FundFactory(code="OPS")

    def offered():
        desk.force_login(build.UserFactory(roles=["coordinator"]))
        pages = [page_of(desk, name) for name in ("setup-mix-new", "setup-permit-new", "setup-price-new")]
        desk.force_login(finance)
        return ["Ketterline" in page for page in [*pages, page_of(desk, "purchase-new")]]

    assert offered() == [True] * 4
    Product.objects.update(is_active=False)
    assert offered() == [False, False, True, False]  # what stands on a shelf may still be given its price


def test_a_mix_that_holds_it_still_shows_it(desk, product, mix):
    Mix.objects.update(is_active=False)
    Product.objects.update(is_active=False)
    assert "Ketterline, no longer in use" in page_of(desk, "setup-mix", mix.public_id)


def test_a_mix_is_offered_for_no_method_and_stays_where_it_is_named(desk, mix):
    Mix.objects.update(is_active=False)
    assert mix.name not in page_of(desk, "setup-method-new")
    method = build.MethodFactory(code="spot", uses_herbicide=True, default_mix=mix, is_active=False)
    assert mix.name in page_of(desk, "setup-method", method.public_id)
    Method.objects.update(default_mix=None)
    assert mix.name not in page_of(desk, "setup-method", method.public_id)


def test_a_jurisdiction_is_offered_for_no_new_site_or_license_and_stays_on_labels(desk, product):
    place = build.JurisdictionFactory(code="KY", name="Bluegrass")
    person = build.PersonFactory()
    license = build.QualificationFactory(person=person, jurisdiction=place)
    new = [("setup-site-new", ()), ("setup-qualification-new", (person.public_id,))]
    assert all("Bluegrass" in page_of(desk, name, *args) for name, args in new)
    _turn(desk, "setup-jurisdiction", place, "deactivate")
    assert not any("Bluegrass" in page_of(desk, name, *args) for name, args in new)
    assert "Bluegrass" in page_of(desk, "setup-qualification", license.public_id)
    assert "Bluegrass" in page_of(desk, "setup-product", product.public_id)
    assert "Bluegrass" not in page_of(desk, "setup-jurisdictions")
    assert "no longer in use" in desk.get(f"{reverse('setup-jurisdictions')}?shown=all").content.decode()
    _turn(desk, "setup-jurisdiction", place, "activate")
    assert all("Bluegrass" in page_of(desk, name, *args) for name, args in new)


def _replaced(api, address, is_active, **changed):
    shown = api.get(address)
    names = changed.pop("names")
    body = {name: shown.json()[name] for name in names} | {"is_active": is_active}
    return api.edit(address, body, etag=shown.headers["ETag"], **changed)


def test_the_api_does_the_same(coordinator, mix, product):
    api = Caller(coordinator)
    of_mix = {"names": ("name", "tank_l", "area_basis", "carrier_l_per_ha", "parts"), "method": "put"}
    label = ("name", "registration_number", "label_version", "label_reference", "reviewed_on", "reviewed_by", "states")
    of_product = {"names": (*label, "ingredients", "caps", "signal_word", "entry_rule"), "method": "put"}
    mixed, bought = f"/api/mixes/{mix.public_id}", f"/api/products/{product.public_id}"

    method = build.MethodFactory(code="spot", uses_herbicide=True, default_mix=mix)
    reply = _replaced(api, mixed, False, **of_mix)
    assert (reply.status_code, reply.json()["code"]) == (409, "still_needed")
    Method.objects.filter(pk=method.pk).update(default_mix=None)
    assert _replaced(api, mixed, False, **of_mix).json()["is_active"] is False
    assert api.rows("/api/mixes?is_active=true") == []

    product.label_uses.all().delete()
    assert _replaced(api, bought, False, **of_product).json()["is_active"] is False
    assert [row["code"] for row in api.rows("/api/products?is_active=false")] == [product.code]
    refused = _replaced(api, mixed, True, **of_mix)
    assert refused.json()["errors"][0]["message"] == "Ketterline is no longer in use."
    assert _replaced(api, bought, True, **of_product).json()["is_active"] is True
    assert _replaced(api, mixed, True, **of_mix).json()["is_active"] is True

    site = build.SiteFactory()
    place = f"/api/jurisdictions/{site.jurisdiction.public_id}"
    assert _replaced(api, place, False, names=("name",)).json()["code"] == "still_needed"
    empty = f"/api/jurisdictions/{build.JurisdictionFactory(code='OH').public_id}"
    assert _replaced(api, empty, False, names=("name",)).json()["is_active"] is False
    assert "OH" not in {row["code"] for row in api.rows("/api/jurisdictions?is_active=true")}
