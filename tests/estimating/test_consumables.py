import numpy as np
import pytest

from estimating.consumables import consumables
from estimating.errors import InvalidFact
from tests.estimating import make

BOOK = make.tiny_book(
    make.figure("allowance", "fuel_l_per_hour", 1.2, "l per crew-hour", method="cut"),
    make.figure("allowance", "blades_per_hour", 0.05, "blades per crew-hour", method="cut"),
    make.figure("allowance", "fuel_l_per_hour", 9, "l per crew-hour", method="mow-mulch"),
)
METHODS = ("pull", "cut", "mow-mulch")


def used(hours, methods):
    return consumables(np.array(hours, float), np.array(methods), METHODS, BOOK)


def test_it_uses_fuel_and_blades_by_the_hours_of_the_method():
    found = used([10, 10, 2], [0, 1, 2])
    assert found.fuel_l == pytest.approx([0, 12, 18])
    assert found.blades == pytest.approx([0, 0.5, 0])


def test_it_uses_nothing_for_a_method_that_the_book_gives_nothing():
    found = used([40], [0])
    assert (found.fuel_l[0], found.blades[0]) == (0, 0)


def test_it_takes_the_figure_for_all_methods_where_there_is_no_closer_one():
    book = make.tiny_book(make.figure("allowance", "fuel_l_per_hour", 0.5, "l per crew-hour"))
    assert consumables(np.array([4.0]), np.array([0]), ("pull",), book).fuel_l[0] == 2.0


def test_it_leaves_a_job_without_figures_without_them():
    found = used([np.nan, 1], [1, 1])
    assert np.isnan(found.fuel_l).tolist() == [True, False]


def test_it_keeps_empty_arrays_empty():
    assert used([], np.zeros(0, int)).fuel_l.shape == (0,)


@pytest.mark.parametrize(("hours", "message"), [([-1.0], "0 or more"), ([1.0, 2.0], "as many values")])
def test_it_refuses_hours_that_cannot_be(hours, message):
    with pytest.raises(InvalidFact, match=message):
        used(hours, [0])
