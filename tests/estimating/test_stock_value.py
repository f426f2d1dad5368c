"""Stock's worth as it goes: no cent is lost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimating.errors import InvalidFact
from estimating.stock_value import Layer, average_take, fifo_take

receipts = st.lists(
    st.builds(Layer, st.sampled_from("ABC"), st.integers(1, 5_000), st.integers(0, 90_000)), min_size=1, max_size=5
)
shares = st.lists(st.fractions(0, 1), max_size=8)


@given(receipts, shares)
def test_it_conserves_first_in_first_out(bought, takings):
    layers, went = tuple(bought), 0
    for share in takings:
        amount = int(share * sum(layer.amount for layer in layers))
        before = sum(layer.amount for layer in layers)
        taken = fifo_take(layers, amount)
        layers, went = taken.layers, went + taken.cents
        assert sum(part.amount for part in taken.taken) == amount == before - sum(layer.amount for layer in layers)
        assert sum(part.cents for part in taken.taken) == taken.cents
    assert went + sum(layer.cents for layer in layers) == sum(layer.cents for layer in bought)
    assert all(layer.cents >= 0 for layer in layers)


@given(st.integers(1, 5_000), st.integers(0, 90_000), shares)
def test_it_conserves_the_average(amount, cents, takings):
    went = 0
    for part in [*(int(share * amount) for share in takings), amount]:
        out = average_take(amount, cents, min(part, amount))
        amount, cents, went = amount - min(part, amount), cents - out, went + out
        assert cents >= 0
        assert amount or cents == 0


TWO = (Layer("old", 100, 10_00), Layer("new", 100, 20_00))


def test_it_takes_the_oldest_first():
    taken = fifo_take(TWO, 150)
    assert taken.cents == 10_00 + 10_00
    assert taken.taken == (Layer("old", 100, 10_00), Layer("new", 50, 10_00))
    assert taken.layers == (Layer("new", 50, 10_00),)


def test_it_takes_the_last_odd_cent_with_the_last_unit():
    layers: tuple[Layer, ...] = (Layer("a", 3, 100),)
    cents: list[int] = []
    for _ in range(3):
        taken = fifo_take(layers, 1)
        layers, cents = taken.layers, [*cents, taken.cents]
    assert cents == [33, 34, 33]
    assert layers == ()


@pytest.mark.parametrize(
    ("amount_on_hand", "cents_on_hand", "amount", "cents"),
    [(200, 30_00, 50, 7_50), (3, 1_00, 3, 1_00), (3, 1_00, 1, 33), (0, 0, 0, 0)],
)
def test_it_takes_at_the_average(amount_on_hand, cents_on_hand, amount, cents):
    assert average_take(amount_on_hand, cents_on_hand, amount) == cents


@pytest.mark.parametrize(
    "make",
    [
        lambda: fifo_take(TWO, -1),
        lambda: fifo_take(TWO, 201),
        lambda: average_take(1, 1, -1),
        lambda: average_take(3, 1_00, 4),
    ],
)
def test_it_refuses_what_is_not_there(make):
    with pytest.raises(InvalidFact) as wrong:
        make()
    assert wrong.value.field == "amount"
