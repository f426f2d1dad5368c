"""The guide: what is done is seen in the data; the reference methods and rates are loaded once, as a draft."""

from datetime import date

import pytest
import time_machine
from django.urls import reverse

from orders.desk.setup.first_run_facts import facts_now
from orders.desk.setup.first_run_steps import next_step, stages
from orders.estimates.models import Method, RateBook
from orders.planning.models import ChainRule
from tests import build
from tests.desk.pages.setup.kit_words import page_of, saved

pytestmark = pytest.mark.django_db
TODAY = date(2026, 12, 1)


@pytest.fixture(autouse=True)
def _now():
    with time_machine.travel("2026-12-01T15:00:00Z", tick=False):
        yield


@pytest.fixture
def desk(client, coordinator):
    client.force_login(coordinator)
    return client


def _steps():
    return {step.name: step for stage in stages(facts_now(TODAY), TODAY) for step in stage.steps}


def _next():
    found = next_step(stages(facts_now(TODAY), TODAY))
    return found.name if found else ""


def test_it_begins_with_the_jurisdictions(desk, coordinator):
    assert _next() == "Jurisdictions"
    assert _steps()["Sites"].state == "waits"
    assert "Jurisdictions" in page_of(desk, "setup")


def test_it_goes_on_as_the_data_does(coordinator):
    build.SpeciesFactory()
    site = build.SiteFactory(emergency_access="")
    assert _next() == "Sites"
    assert any(site.name in lack and "ambulance" in lack for lack in _steps()["Sites"].lacking)


def test_it_names_the_site_whose_checklist_is_open(coordinator):
    site = build.SiteFactory()
    build.ChecklistQuestionFactory()
    step = _steps()["Answers for each site"]
    assert step.lacking == [f"{site.name}: 1 question not answered."]


def test_it_needs_no_optional_step(coordinator):
    optional = {step.name for step in _steps().values() if step.state == "optional"}
    assert {"Products, labels, mixes and prices", "Equipment", "Logins"} <= optional
    assert _steps()["Funds, and who pays"].state == "missing"


def test_it_leads_from_the_product_over_the_mix_to_what_the_mix_is_for(coordinator):
    def herbicide():
        return _steps()["Products, labels, mixes and prices"]

    assert herbicide().button == "Add a product"
    product = build.ProductFactory()
    assert herbicide().button == "Add a mix"
    mix = build.MixFactory(products=[(product, 2.0, "herbicide")])
    assert (herbicide().button, str(mix.public_id) in herbicide().address) == ("Say what it is for", True)
    build.MethodFactory(code="cut-stem", uses_herbicide=True, default_mix=mix)
    assert herbicide().lacking == [f"{product.name} has no price: no method that takes it is estimated."]
    build.PriceFactory(kind="product", code=product.code)
    assert (herbicide().state, herbicide().lacking) == ("done", [])


def test_it_loads_the_reference_once_as_a_draft(desk):
    saved(desk, reverse("setup-reference"), {})
    book = RateBook.objects.get()
    assert (book.state, book.rates.exists(), Method.objects.count() > 5) == ("draft", True, True)
    assert not book.rates.filter(source="").exists()
    assert ChainRule.objects.exists()
    assert _steps()["Standard rates"].lacking
    again = desk.post(reverse("setup-reference"))
    assert again.status_code == 409
    assert "already" in again.content.decode()
    assert RateBook.objects.count() == 1


def test_it_can_be_put_in_force_once_the_roles_are_rated(desk):
    saved(desk, reverse("setup-reference"), {})
    book = RateBook.objects.get()
    assert desk.post(reverse("rate-book-in-force", args=[book.public_id]), {"day": "2026-12-01"}).status_code == 400
    page = page_of(desk, "setup-rates")
    fields = {part.split('"')[0]: "30" for part in page.split('name="rate_')[1:]}
    typed = {f"rate_{key}": value for key, value in fields.items()}
    saved(desk, reverse("setup-rates"), typed | {"from_day": "2026-12-01", "source": "Payroll"})
    saved(desk, reverse("rate-book-in-force", args=[book.public_id]), {"day": "2026-12-01"})
    assert _steps()["A rate book in force"].state == "done"


def test_it_loads_nothing_for_finance(client, finance):
    client.force_login(finance)
    assert client.post(reverse("setup-reference")).status_code == 403
    assert client.get(reverse("setup")).status_code == 200


def test_it_asks_as_often_for_a_large_program_as_for_a_small_one(desk, django_assert_max_num_queries):
    question = build.ChecklistQuestionFactory()
    assert question
    for _ in range(12):
        build.SiteFactory()
        build.CrewFactory(people=3)
        build.PatchFactory()
    with django_assert_max_num_queries(48):
        desk.get(reverse("setup"))
