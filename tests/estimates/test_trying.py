"""An estimate tried under other conditions: crew, heat, people new to it, another mix. Nothing is stored."""

import pytest

from estimating.crewday import work_minutes_per_hour
from orders import flow
from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.estimates.models import Estimate, Method
from orders.estimates.trying import Trial, estimate_tried, figures_of, mixes_to_try
from orders.supplies.models import Product
from tests import build
from tests.desk.pages.estimated import ON, estimates_made
from tests.estimates.books import volunteer_book
from tests.flow.world import world_build

pytestmark = pytest.mark.django_db
CREW = {"crew-member": 3, "applicator": 1, "sawyer": 1}


@pytest.fixture
def made():
    return estimates_made()


def _tried(estimate, **asked):
    return estimate_tried(estimate, Trial(**asked), ON)


def _fields(error):
    return [one.field for one in error.value.errors]


def test_it_gives_the_estimate_itself_where_nothing_else_is_asked(made):
    for estimate in made.values():
        tried = _tried(estimate)
        assert tried.new == figures_of(estimate)
        assert tried.told["steps"] == estimate.result["steps"]


def test_it_reads_frozen_inputs_of_the_first_version(made):
    estimate = Estimate.objects.get(pk=made["hand-pull"].pk)
    inputs = {**estimate.inputs, "version": 1}
    inputs["patch"] = {name: value for name, value in inputs["patch"].items() if name != "ground"}
    lost = {"reroots", "cut_height_m"}
    inputs["components"] = [{k: v for k, v in row.items() if k not in lost} for row in inputs["components"]]
    estimate.inputs = inputs
    tried = _tried(estimate)
    assert tried.new.hours_likely < estimate.hours_likely  # rough ground was not known then
    assert any("earlier version of the arithmetic" in note for note in tried.notes)


def test_it_says_that_facts_were_not_kept():
    with pytest.raises(WrongState, match="not kept"):
        _tried(build.EstimateFactory())


def test_it_crowds_a_bigger_crew_by_the_rate_book(made):
    estimate = made["hand-pull"]
    tried = _tried(estimate, people={**CREW, "crew-member": 5})
    pace = tried.told["pace"]
    assert (tried.day.size, pace["crew_size"]) == (7, 7)
    room, worked = pace["elbow_room_m2"], pace["worked_area_m2"]
    assert pace["crowding"] == pytest.approx(1 + (pace["crew_sent"] - 1) * room / (room + worked))
    assert tried.new.hours_likely == pytest.approx(
        estimate.hours_likely * pace["crowding"] / estimate.result["pace"]["crowding"]
    )


def test_it_shortens_the_work_of_each_hour_in_heat(made):
    plain = _tried(made["hand-pull"]).told["crew_day"]
    hot = _tried(made["hand-pull"], air_temperature_f=98, workload="heavy").told["crew_day"]
    assert hot["work_minutes_per_hour"] == work_minutes_per_hour(98, "heavy") == 35
    assert hot["productive_hours"] == pytest.approx(plain["productive_hours"] * 35 / 60)
    assert hot["crew_days"] == pytest.approx(plain["crew_days"] * 60 / 35)


def test_it_counts_people_who_are_new_to_heat(made):
    asked = {"air_temperature_f": 92, "new_workers": 1, "returning_workers": 2}
    tried = _tried(made["hand-pull"], **asked)
    assert tried.told["pace"]["heat_share"] == pytest.approx((2 + 0.2 + 2 * 0.5) / 5)
    later = _tried(made["hand-pull"], **asked, day_in_heat=5)
    assert later.told["pace"]["heat_share"] == 1


def test_it_has_no_figures_where_heat_stops_work(made):
    tried = _tried(made["hand-pull"], air_temperature_f=112, workload="heavy")
    assert (tried.new, tried.told) == (None, None)
    assert any(note.startswith("It is too hot for this work") for note in tried.notes)


def test_it_says_that_new_people_count_only_in_heat(made):
    tried = _tried(made["hand-pull"], new_workers=1)
    assert tried.new == _tried(made["hand-pull"]).new
    assert any("only in heat" in note for note in tried.notes)


def test_it_prices_a_role_that_the_estimate_did_not_use_as_of_the_day(made):
    build.StandardRateFactory(role=build.LaborRoleFactory(code="lead"), from_day=ON, rate_e4=400_000)
    tried = _tried(made["hand-pull"], people={**CREW, "lead": 1})
    assert any(note.endswith("lead.") and "as of the day of the trial" in note for note in tried.notes)
    assert {line["source"] for line in tried.told["money"]["lines"]}


def test_it_keeps_the_frozen_prices(made):
    build.StandardRateFactory(role=build.LaborRoleFactory(code="crew-member"), from_day=ON, rate_e4=990_000)
    assert _tried(made["hand-pull"]).new.total_cents == made["hand-pull"].total_cents


def test_it_says_who_is_missing(made):
    tried = _tried(made["cut-stem"], people={"crew-member": 4})
    assert sum("this crew has none" in note for note in tried.notes) == 2


def test_it_tries_another_mix(made):
    strong = build.ProductFactory(code="NORTH-7", name="Northline 7")
    build.PriceFactory(kind="product", code="NORTH-7", price_e4=500_000)
    dosed = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 3.0, "tank_l": 2.0}
    build.MixFactory(code="STEM-7", products=[(strong, 25.0, "herbicide")], **dosed)
    tried = _tried(made["cut-stem"], mix="STEM-7")
    assert tried.new.spray_volume_l == pytest.approx(2 * made["cut-stem"].spray_volume_l)
    assert tried.new.products_ul == {"NORTH-7": pytest.approx(tried.new.spray_volume_l * 0.25e6, abs=1)}
    assert (tried.is_other_mix, tried.variant.mix.code) == (True, "STEM-7")


def test_it_offers_mixes_that_are_measured_out_as_the_method_works(made):
    foliar = build.MixFactory(code="FOLIAR-2", products=[(Product.objects.get(code="MAST-41"), 2.0, "herbicide")])
    Method.objects.filter(code="spot-foliar").update(default_mix=foliar)
    made |= {row.method.code: row for row in flow.estimate_patches(on=ON, stamp=build.stamp())}
    offered = {code: [mix.code for mix in mixes_to_try(made[code])] for code in ("cut-stem", "spot-foliar", "cut")}
    assert offered == {"cut-stem": ["STEM-50"], "spot-foliar": ["FOLIAR-2"], "cut": []}


def test_it_stores_nothing(made):
    before = Estimate.objects.count(), Change.objects.count()
    flow.try_estimate(estimate=made["cut-stem"], asked=Trial(people={"crew-member": 2}), on=ON)
    assert before == (Estimate.objects.count(), Change.objects.count())
    assert Estimate.objects.get(pk=made["cut-stem"].pk).products_ul == made["cut-stem"].products_ul


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"people": {"diver": 1}}, "people"),
        ({"people": {"whole-crew": 1}}, "people"),
        ({"people": {"crew-member": 0}}, "people"),
        ({"people": {"crew-member": 41}}, "people"),
        ({"people": {"crew-member": -1, "sawyer": 3}}, "people"),
        ({"new_workers": 6}, "new_workers"),
        ({"returning_workers": 6}, "returning_workers"),
        ({"new_workers": -1}, "new_workers"),
        ({"people": {"crew-member": 2}, "new_workers": 2, "returning_workers": 1}, "new_workers"),
        ({"air_temperature_f": 131.0}, "air_temperature_f"),
        ({"air_temperature_f": float("nan")}, "air_temperature_f"),
        ({"workload": "easy"}, "workload"),
        ({"day_in_heat": 0}, "day_in_heat"),
        ({"mix": "none-such"}, "mix"),
        ({"mix": "FOLIAR-2"}, "mix"),
    ],
)
def test_it_names_what_cannot_be_tried(made, asked, field):
    build.MixFactory(code="FOLIAR-2")
    with pytest.raises(Invalid) as error:
        _tried(made["cut-stem"], **asked)
    assert _fields(error) == [field]


def test_it_has_no_mix_to_try_without_herbicide(made):
    with pytest.raises(Invalid, match="cannot be tried") as error:
        _tried(made["hand-pull"], mix="STEM-50")
    assert _fields(error) == ["mix"]


def test_it_needs_the_price_of_a_product(made):
    dosed = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 3.0}
    build.MixFactory(code="STEM-8", products=[(build.ProductFactory(code="DEAR"), 25.0, "herbicide")], **dosed)
    with pytest.raises(Invalid) as error:
        _tried(made["cut-stem"], mix="STEM-8")
    assert "no price for DEAR" in error.value.errors[0].message


def test_it_costs_a_volunteer_crew_by_who_is_in_it():
    world = world_build()
    volunteer_book(world)
    made = flow.estimate_patches(on=ON, crew_kind="volunteers", stamp=world.stamp())
    pulled = next(row for row in made if row.method.code == "hand-pull")
    own, paid = _tried(pulled), _tried(pulled, people={"crew-member": 7})
    assert own.new.labor_cents == pulled.labor_cents
    assert paid.told["pace"]["pace_by_role"] == {"crew-member": 1.0}
    assert paid.new.hours_likely < pulled.hours_likely
    assert paid.new.labor_cents > pulled.labor_cents
