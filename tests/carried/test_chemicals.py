"""What the package says of herbicide: mix cards, labels, lots, mixes that are open."""

from decimal import Decimal

import pytest

from orders.planning.models import Prescription
from orders.supplies.amounts import small_amount
from tests import build
from tests.build.tablet_world import tablet_world
from tests.carried.caller import device_of, package
from tests.carried.test_work import order_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def world():
    return tablet_world()


@pytest.fixture
def order(world, client):
    device_of(world.lead_user)
    return order_of(package(client), world.herbicide)


def mix_of(order, by):
    return next(mix for mix in order["mixes"] if mix["by"] == by)


def estimates_of(world):
    shares = world.herbicide.order_visits.get().visit.shares.all()
    return {share.prescription.method.code: share.prescription.estimate for share in shares}


def test_it_has_a_card_for_each_mix(world, order):
    needed = {code: estimate.spray_volume_l for code, estimate in estimates_of(world).items()}
    assert mix_of(order, "stem")["needed_l"] == pytest.approx(needed["cut-stem"])
    assert mix_of(order, "area")["needed_l"] == pytest.approx(needed["spot-foliar"])
    assert {mix["id"] for mix in order["mixes"]} == {
        str(world.cut_stem_mix.public_id),
        str(world.foliar_mix.public_id),
    }


def test_it_adds_up_the_loads_to_what_the_estimate_takes(world, client):
    estimate = estimates_of(world)["spot-foliar"]
    frozen = {**estimate.inputs, "mix": {**estimate.inputs["mix"], "tank_l": 2.0}}
    smaller = build.EstimateFactory(
        survey=estimate.survey,
        method=estimate.method,
        rate_book=estimate.rate_book,
        mix=estimate.mix,
        inputs=frozen,
        result=estimate.result,
        spray_volume_l=estimate.spray_volume_l,
        products_ul=estimate.products_ul,
    )
    Prescription.objects.filter(estimate=estimate).update(estimate=smaller)
    device_of(world.lead_user)
    mix = mix_of(order_of(package(client), world.herbicide), "area")
    assert [load["number"] for load in mix["loads"]] == [1, 2, 3]
    assert sum(load["volume_l"] for load in mix["loads"]) == pytest.approx(estimate.spray_volume_l)
    ul = sum(
        small_amount(Decimal(str(row["amount"])), row["unit"])
        for load in mix["loads"]
        for row in load["rows"]
        if row["product"] == "glyphosate-480"
    )
    assert ul == pytest.approx(estimate.products_ul["glyphosate-480"], rel=0.01)


def test_it_says_how_each_load_is_mixed(order):
    load = mix_of(order, "area")["loads"][0]
    steps = load["order_of_mixing"]
    assert steps["en"][0].startswith("Put half of the water")
    assert steps["es"][0].startswith("Ponga la mitad del agua")
    assert all(any("Invented G-480" in step for step in told) for told in steps.values())
    assert any("The label is the law" in caution for caution in load["cautions"]["en"])
    assert {len(told) for told in steps.values()} == {len(steps["en"])}
    assert {len(told) for told in load["cautions"].values()} == {4}


def test_it_holds_limits_of_all_three_kinds(order):
    assert {limit["kind"] for limit in order["weather_limits"]} == {
        "label-mandatory",
        "label-advisory",
        "program-policy",
    }
    assert order["rain_free_hours"] == 6.0


def test_it_tells_the_labels_entry_rule(order):
    assert order["entry"] == {"applies": "label", "hours": None, "text": "Keep out until dry."}


def test_it_tells_the_interval_where_worker_protection_rules_apply(world, client):
    world.site.worker_protection_rules = True
    world.site.save()
    device_of(world.lead_user)
    entry = order_of(package(client), world.herbicide)["entry"]
    assert (entry["applies"], entry["hours"]) == ("restricted", 12)


def test_it_needs_no_entry_rule_where_nothing_is_sprayed(world, client):
    device_of(world.lead_user)
    pulling = order_of(package(client), world.pulling)
    assert (pulling["entry"], pulling["mixes"], pulling["weather_limits"]) == (None, [], [])


def test_it_names_hazards_and_what_to_bring(world, order):
    assert {"herbicide", "saws", "ticks", "poison-ivy"} <= set(order["hazards"])
    assert order["bring"] == [{"name": "Backpack sprayer", "count": 2}]
    assert order["protective_equipment"] == ["Long sleeves, shoes and socks, chemical-resistant gloves"]


def test_it_lists_lots_in_stock_the_oldest_first(world, client):
    old = build.StockLotFactory(product=world.glyphosate, lot_number="OLD", received_on=world.day.replace(year=2020))
    build.StockLotFactory(product=world.glyphosate, lot_number="EMPTY", received_ul=0)
    device_of(world.lead_user)
    lots = order_of(package(client), world.herbicide)["lots"]
    own = [lot for lot in lots if lot["product"] == "glyphosate-480"]
    assert [lot["lot_number"] for lot in own] == ["OLD", "G-01"]
    assert own[0]["id"] == str(old.public_id)


def _batch(world, **facts):
    return build.MixBatchFactory(
        crew=world.crew,
        site=world.site,
        work_date=world.day,
        mix=world.foliar_mix,
        mixed_by=world.lead,
        parts=[{"product": world.glyphosate, "lot": world.lots[0]}],
        **facts,
    )


def test_it_lists_a_mix_with_what_is_left_of_it(world, client):
    batch = _batch(world)
    build.ApplicationFactory(batch=batch, order=world.herbicide, work_date=world.day, volume_ul=4_000_000)
    device_of(world.lead_user)
    found = package(client)["open_batches"]
    assert [(one["id"], one["left_ul"]) for one in found] == [(str(batch.public_id), 6_000_000)]
    assert found[0]["parts"][0] == {
        "product": "glyphosate-480",
        "lot": str(world.lots[0].public_id),
        "lot_text": "",
        "value": "200",
        "unit": "mL",
    }


def test_it_counts_what_a_day_carried_over_and_leaves_out_what_is_empty(world, client):
    carried, empty = _batch(world), _batch(world)
    build.MixDayEndFactory(batch=carried, work_date=world.day, carried_over_ul=2_500_000, disposed_ul=0)
    build.MixDayEndFactory(batch=empty, work_date=world.day, carried_over_ul=0, disposed_ul=10_000_000)
    device_of(world.lead_user)
    assert [one["left_ul"] for one in package(client)["open_batches"]] == [2_500_000]
