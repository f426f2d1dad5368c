from itertools import product as every

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.shopping import EXACT_STEPS, Container, containers_to_buy

QUART, GALLON, DRUM = Container(946, 3_000), Container(3_785, 9_000), Container(9_464, 20_000)


def test_it_buys_nothing_while_the_stock_lasts():
    found = containers_to_buy(1_000, 1_200, [QUART])
    assert (found.counts, found.cost_cents, found.spare_ml) == ((), 0, 200)


def test_it_rounds_up_to_containers_at_least_cost():
    found = containers_to_buy(4_000, 0, [QUART, GALLON, DRUM])
    assert found.counts == ((QUART, 1), (GALLON, 1))
    assert (found.cost_cents, found.spare_ml) == (12_000, 731)


def test_it_takes_the_bigger_container_where_it_is_cheaper():
    assert containers_to_buy(2_900, 0, [QUART, GALLON]).counts == ((GALLON, 1),)


def test_it_buys_for_the_need_beyond_the_stock():
    assert containers_to_buy(4_000, 3_500, [QUART, GALLON]).counts == ((QUART, 1),)


def test_it_does_not_let_a_negative_stock_grow_the_order_beyond_the_need():
    assert containers_to_buy(900, -5_000, [QUART]).counts == ((QUART, 1),)


@given(
    st.integers(1, 40),
    st.lists(st.builds(Container, st.integers(3, 20), st.integers(0, 50)), min_size=1, max_size=3, unique=True),
)
def test_it_finds_what_trying_everything_finds(need, containers):
    found = containers_to_buy(need, 0, containers)
    counts = [range(need // container.volume_ml + 2) for container in containers]
    cheapest = min(
        sum(container.price_cents * n for container, n in zip(containers, tried, strict=True))
        for tried in every(*counts)
        if sum(container.volume_ml * n for container, n in zip(containers, tried, strict=True)) >= need
    )
    assert (found.cost_cents, found.spare_ml >= 0) == (cheapest, True)


def test_it_fills_the_bulk_of_a_large_need_with_the_best_price():
    need = 3 * EXACT_STEPS
    found = containers_to_buy(need, 0, [Container(997, 500), Container(4_001, 1_900)])
    assert found.spare_ml >= 0
    assert found.cost_cents == pytest.approx(need / 4_001 * 1_900, rel=0.01)


@pytest.mark.parametrize("wrong", [lambda: containers_to_buy(5, 0, []), lambda: containers_to_buy(-1, 0, [QUART])])
def test_it_refuses_what_cannot_be(wrong):
    with pytest.raises(InvalidFact):
        wrong()


@pytest.mark.parametrize(("volume_ml", "price_cents"), [(0, 5), (5, -1)])
def test_it_refuses_a_container_that_cannot_be(volume_ml, price_cents):
    with pytest.raises(InvalidFact):
        Container(volume_ml, price_cents)
