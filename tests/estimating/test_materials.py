from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact, UnknownCode
from estimating.materials import Mix, MixPart, mix_card, tank_loads

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
