from fractions import Fraction

import pytest

from estimating.errors import InvalidFact
from estimating.inputs import CrewDay
from estimating.pricing import blended_rate_e4, hours_cents, product_cents, to_cents
from tests.estimating import make


def made(**changed):
    day = CrewDay(people={"crew lead": 1, "crew member": 1}, allowance=0, break_minutes=0, briefing_minutes=0)
    facts = make.patches(drive_minutes=[40], drive_km=[8.04672])
    return make.estimated(facts, make.components(), crew_day=day, prices=make.prices(**changed))


def test_it_pays_field_hours_by_skill_and_the_rest_by_the_crew():
    found = made()
    field = 52.5
    paid = float(found.time.paid_person_hours[0])
    assert paid == pytest.approx(field / 6 * 8)
    expected = Fraction(field) * 28 + Fraction(round((paid - field) * 3600), 3600) * 32
    assert found.money.labor_cents[0] == to_cents(expected)


def test_it_pays_one_vehicle_for_each_crew_day():
    # 8.04672 km is 5 miles; 4.375 crew-days of 10 miles at 72.5 cents.
    found = made()
    assert found.time.crew_days[0] == pytest.approx(4.375)
    assert found.money.mileage_cents[0] == to_cents(Fraction("43.75") * Fraction("0.725"))


def test_it_runs_equipment_while_the_crew_works():
    assert made(equipment_e4_per_hour={"pull": 50_000}).money.equipment_cents[0] == 2625 * 5


def test_it_charges_bags_by_the_piece():
    parts = make.components(infested_area_m2=1000, cover=0.5)
    found = make.estimated(make.patches(), parts, ["hand-pull"], rate_book=make.book())
    # 500 m2 of canopy x 0.02 m3, a quarter of it in bags of 0.12 m3: 20.8, so 21 bags of 90 cents.
    assert (found.materials.bags[0], found.money.material_cents[0]) == (21, 21 * 90)


def test_it_blends_a_crews_rate_exactly():
    rate = blended_rate_e4({"crew lead": 1, "crew member": 2}, {"crew lead": 360_000, "crew member": 280_001})
    assert rate == Fraction(920_002, 3)
    with pytest.raises(InvalidFact, match="at least one person"):
        blended_rate_e4({}, {})


def test_it_prices_seconds_and_microlitres():
    assert hours_cents(90 * 60, 280_000) == 4200
    assert product_cents(1_500_000, 250_050) == 3751


def cut(**changed):
    facts = make.patches(), make.components(form="shrub", infested_area_m2=2000, stems=[[100, 20, 5]])
    return make.estimated(*facts, ["cut", "girdle"], rate_book=make.book(), prices=make.prices(**changed))


def test_it_charges_fuel_and_blades_beside_the_bags():
    found = cut(fuel_e4_per_l=10_000, blade_e4=250_000)
    fuel_ul, blades = round(found.materials.fuel_l[0] * 1e6), round(found.materials.blades[0] * 1000)
    exact = Fraction(fuel_ul, 10**6) + Fraction(blades, 1000) * 25 + Fraction(9, 10) * int(found.materials.bags[0])
    assert found.money.material_cents[0] == to_cents(exact)


def at_level(level):
    book = make.tiny_book(make.figure("allowance", "contingency_level", level))
    return make.estimated(make.patches(), make.components(), rate_book=book).money


def test_it_sets_aside_what_the_level_of_the_range_asks_for():
    money = at_level(0.9)
    assert money.total_cents[0] + money.contingency_cents[0] == money.high_cents[0]
    assert 0 < at_level(0.8).contingency_cents[0] < money.contingency_cents[0]


@pytest.mark.parametrize("level", [0.5, 0.2])
def test_it_never_sets_aside_less_than_nothing(level):
    assert at_level(level).contingency_cents.tolist() == [0]


def test_it_sets_nothing_aside_where_the_book_names_no_level():
    assert made().money.contingency_cents.tolist() == [0]


@pytest.mark.parametrize(("minimum_e4", "cents"), [(0, 120_000), (20_000_000, 200_000)])
def test_it_prices_a_contractor_by_the_hectare_or_the_least_job(minimum_e4, cents):
    found = cut(contract_e4_per_ha={"cut": 60_000_000}, contract_minimum_e4={"cut": minimum_e4})
    # 0.2 ha at 6,000 dollars; the girdling has no contractor.
    assert found.money.contract_cents.tolist() == [cents, -1]


def test_it_pays_only_the_people_who_are_sent():
    limit = make.figure("allowance", "crew_most", 1, method="pull")
    rates = dict.fromkeys(("crew lead", "crew member", "certified applicator"), 300_000)
    prices = make.prices(role_rate_e4_per_hour=rates)
    found = make.estimated(make.patches(), make.components(), rate_book=make.tiny_book(limit), prices=prices)
    paid_seconds = round(float(found.time.paid_person_hours[0]) * 3600)
    assert found.money.labor_cents[0] == to_cents(Fraction(paid_seconds, 3600) * 30)
