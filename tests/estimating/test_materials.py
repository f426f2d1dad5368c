from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact, UnknownCode
from estimating.materials import Mix, MixPart, mix_card, tank_loads
from estimating.mix_order import liquid_text, poured
from estimating.units import MILLILITRES_PER_US_FLUID_OUNCE

HERBICIDE = MixPart(product="blue label", percent_vv=2)
SPREADER = MixPart(product="spreader", role="adjuvant", percent_vv=0.5)


def mix(**changed):
    given: dict[str, Any] = {"code": "leaf", "parts": [HERBICIDE, SPREADER], "tank_l": 15, "carrier_l_per_ha": 280}
    return Mix(**(given | changed))


@pytest.mark.parametrize(
    ("volume_l", "loads"),
    [(0, (0, 0, 0)), (10, (1, 0, 10)), (15, (1, 1, 0)), (37, (3, 2, 7)), (0.3, (1, 0, 0.3)), (45.0, (3, 3, 0))],
)
def test_it_counts_the_last_part_load(volume_l, loads):
    found = tank_loads(volume_l, 15)
    assert (found.loads, found.full) == loads[:2]
    assert found.last_l == pytest.approx(loads[2])


@given(st.floats(0, 1e5), st.floats(0.5, 500))
def test_it_fills_loads_up_to_the_volume(volume_l, tank_l):
    found = tank_loads(volume_l, tank_l)
    assert found.full * tank_l + found.last_l == pytest.approx(volume_l, rel=1e-6, abs=1e-6)
    assert found.loads in (found.full, found.full + 1)


def test_it_writes_a_mix_card_for_full_and_part_loads():
    card = mix_card(mix(), 37)
    herbicide, spreader = card.lines
    assert (herbicide.full_load_ml, herbicide.last_load_ml, herbicide.total_ml) == pytest.approx((300, 140, 740))
    assert spreader.total_ml == pytest.approx(185)
    assert (card.carrier_full_ml, card.carrier_last_ml) == pytest.approx((14_625, 6_825))


def test_it_asks_for_no_full_load_where_there_is_none():
    card = mix_card(mix(), 6)
    assert (card.lines[0].full_load_ml, card.carrier_full_ml, card.lines[0].last_load_ml) == (0, 0, 120)


def test_it_turns_a_rate_by_area_into_a_share_of_the_mix():
    by_area = MixPart(product="blue label", rate_l_per_ha=5.6)
    assert mix(parts=[by_area]).fraction(by_area) == pytest.approx(0.02)


@pytest.mark.parametrize("given", [{}, {"percent_vv": 2, "rate_l_per_ha": 5}])
def test_it_takes_percent_or_rate_and_never_both_or_none(given):
    with pytest.raises(InvalidFact, match="either percent by volume or a rate"):
        MixPart(product="blue label", **given)


@pytest.mark.parametrize("given", [{"percent_vv": 0}, {"percent_vv": 101}, {"rate_l_per_ha": -1}])
def test_it_refuses_a_part_that_cannot_be(given):
    with pytest.raises(InvalidFact, match="above 0"):
        MixPart(product="blue label", **given)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"carrier_l_per_ha": None}, "either a carrier volume or a dose"),
        ({"stem_dose_ml_per_cm": 2}, "either a carrier volume or a dose"),
        ({"tank_l": 0}, "above 0"),
        ({"parts": [MixPart(product="a", percent_vv=60), MixPart(product="b", percent_vv=50)]}, "more than the whole"),
        (
            {
                "carrier_l_per_ha": None,
                "stem_dose_ml_per_cm": 1,
                "parts": [MixPart(product="a", rate_l_per_ha=2)],
            },
            "needs percent by volume",
        ),
    ],
)
def test_it_refuses_a_mix_that_cannot_be(changed, message):
    with pytest.raises(InvalidFact, match=message):
        mix(**changed)


def test_it_refuses_a_rate_that_leaves_no_room_for_the_carrier():
    with pytest.raises(InvalidFact, match="more than the whole"):
        mix_card(mix(parts=[MixPart(product="a", rate_l_per_ha=300)]), 10)


@pytest.mark.parametrize(
    "call", [lambda: mix(area_basis="site"), lambda: MixPart(product="a", role="magic", percent_vv=1)]
)
def test_it_refuses_words_it_does_not_know(call):
    with pytest.raises(UnknownCode, match="must be one of"):
        call()


def steps_of(parts, volume_l=37, **changed):
    return mix_card(mix(parts=parts, **changed), volume_l).steps


def place(steps, word):
    (found,) = [number for number, step in enumerate(steps) if word in step]
    return found


def test_it_puts_water_first_and_fills_up_last():
    steps = steps_of([HERBICIDE])
    assert steps[0].startswith("Put half of the water into the clean tank: 1.94 gal (7.35 L)")
    assert steps[-2].startswith("Fill up with the rest of the water: 1.94 gal (7.35 L)")
    assert "follow the label" in steps[-1]


def test_it_mixes_in_the_order_of_the_trade():
    order = ("conditioner", "dry", "suspension", "emulsion", "solution", "surfactant", "dye")
    parts = [MixPart(product=f"the {word}", percent_vv=1, formulation=word) for word in reversed(order)]
    places = [place(steps_of(parts), f"the {word}") for word in order]
    assert places == sorted(places)
    assert places[0] > place(steps_of(parts), "Agitate, and go on")


def test_it_tells_each_amount_for_a_full_and_for_the_last_load():
    (step,) = [found for found in steps_of([HERBICIDE]) if "blue label" in found]
    assert step.endswith("10.14 fl oz (300 mL) in a full load, 4.73 fl oz (140 mL) in the last load.")
    assert "load" not in " ".join(steps_of([HERBICIDE], volume_l=6))


def test_it_mixes_oil_without_water():
    oil, ester = MixPart(product="bark oil", role="oil", percent_vv=80), MixPart(product="ester", percent_vv=20)
    stem = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 4, "tank_l": 5}
    card = mix_card(mix(parts=[ester, oil], **stem), 5)
    assert card.carrier == "oil"
    assert card.steps[0] == "Put half of the oil into the clean tank: 0.53 gal (2.00 L). Keep water out of it."
    assert "water" not in " ".join(card.steps[1:])


def test_it_takes_a_little_oil_in_water_for_an_adjuvant():
    card = mix_card(mix(parts=[MixPart(product="seed oil", role="oil", percent_vv=1), HERBICIDE]), 15)
    assert card.carrier == "water"
    assert place(card.steps, "seed oil") > place(card.steps, "blue label")


def test_it_adds_nothing_to_what_is_used_as_it_comes():
    card = mix_card(mix(parts=[MixPart(product="blue label", percent_vv=100)]), 1)
    assert (card.carrier, len(card.steps)) == ("", 2)


def test_it_has_no_steps_without_a_load():
    assert steps_of([HERBICIDE], volume_l=0) == ()


def test_it_says_that_the_label_decides_and_to_mix_no_more_than_is_needed():
    told = " ".join(mix_card(mix(), 37).cautions)
    assert "label is the law" in told
    assert "Never mix more than the day needs" in told


def test_it_tells_the_loads_in_fluid_ounces_too():
    (herbicide, _) = mix_card(mix(), 37).lines
    assert (herbicide.full_load_fl_oz, herbicide.last_load_fl_oz) == pytest.approx((10.144, 4.734), abs=0.001)


def test_it_refuses_a_formulation_it_does_not_know():
    with pytest.raises(UnknownCode, match="suspension"):
        MixPart(product="a", percent_vv=1, formulation="magic")


@pytest.mark.parametrize(
    ("volume_ml", "measure", "text"),
    [
        (1.075, (1.1, "mL"), "1.1 mL (0.04 fl oz)"),
        (MILLILITRES_PER_US_FLUID_OUNCE, (1.0, "fl oz"), "1.00 fl oz (29.6 mL)"),
        (300, (10.14, "fl oz"), "10.14 fl oz (300 mL)"),
        (MILLILITRES_PER_US_FLUID_OUNCE * 128, (1.0, "gal"), "1.00 gal (3.79 L)"),
    ],
)
def test_it_tells_a_volume_in_the_measure_that_pours_it(volume_ml, measure, text):
    assert poured(volume_ml) == measure
    assert liquid_text(volume_ml) == text
