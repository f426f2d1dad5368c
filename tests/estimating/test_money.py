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
