import numpy as np
import pytest

from estimating.errors import InvalidRate
from estimating.inputs import GROWTH_FORMS
from estimating.rate_book import rate_book_from_rows
from tests.estimating import make

PULL = make.rate("pull", "pull", "infested_area_m2", 100, "h/ha")


def step(rows, name="pull", method="pull"):
    return next(found for found in rate_book_from_rows(rows).method_steps(method) if found.name == name)


def factor(driver, from_value, value, **more):
    row = {"kind": "factor", "driver": driver, "from_value": str(from_value), "value": str(value)}
    return row | {"source": "invented"} | more


def test_it_reads_the_reference_book():
    book = make.book()
    assert set(book.steps) == set(make.methods().codes)
    assert all(row.source for row in book.rows)


def test_it_keeps_a_rate_for_all_forms_and_a_closer_one():
    found = step([PULL, make.rate("pull", "pull", "infested_area_m2", 300, "h/ha", growth_form="climbing")])
    assert found.hours_per_unit[GROWTH_FORMS.index("climbing")] == pytest.approx(0.03)


def test_it_treats_only_the_forms_its_rates_name():
    rows = [
        make.rate("pull", "pull", "infested_area_m2", 300, "h/ha", growth_form="climbing"),
        make.rate("pull", "haul", "debris_m3", 1, "h/m3"),
    ]
    assert rate_book_from_rows(rows).treats("pull").tolist() == [False, True, False, False, False]
    assert np.isnan(step(rows, "haul").hours_per_unit).tolist() == [True, False, True, True, True]


def test_it_takes_the_closest_rows_of_a_factor():
    rows = [PULL, factor("slope_deg", 10, 1.5), factor("slope_deg", 10, 1.1, step="pull")]
    (bands,) = step(rows).factors
    assert bands.values == (1.1,)


def test_it_steps_up_at_each_threshold():
    (bands,) = step([PULL, factor("slope_deg", 20, 1.4), factor("slope_deg", 10, 1.2)]).factors
    assert bands.at(np.array([0, 9.99, 10, 19.99, 20, 60, np.nan])).tolist() == [1, 1, 1.2, 1.2, 1.4, 1.4, 1]


def test_it_finds_the_closest_allowance():
    book = make.tiny_book(
        make.figure("allowance", "tank_l", 10), make.figure("allowance", "tank_l", 15, method="dormant-foliar")
    )
    assert (book.allowance("tank_l"), book.allowance("tank_l", "dormant-foliar")) == (10, 15)
    with pytest.raises(InvalidRate, match="lacks the allowance 'bag_m3'"):
        book.allowance("bag_m3")


def test_it_makes_a_crew_day_with_the_basis_of_its_allowance():
    day = make.book().crew_day(make.PEOPLE, shift_hours=10.0)
    assert (day.size, day.shift_hours, day.allowance, day.allowance_basis) == (4, 10.0, 0.09, "shift")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"kind": "rates"}, "kind"),
        ({"value": ""}, "value"),
        ({"value": "ten"}, "value"),
        ({"value": "-1"}, "value"),
        ({"value": "inf"}, "value"),
        ({"source": " "}, "source"),
        ({"growth_form": "tree"}, "growth_form"),
        ({"driver": "mood"}, "driver"),
        ({"unit": "min/stem"}, "unit"),
        ({"skill": ""}, "skill"),
        ({"cover_exponent": "1.2"}, "cover_exponent"),
        ({"own_spread": "3"}, "shared_spread"),
        ({"driver": "visit", "unit": "min/visit", "growth_form": "herb"}, "driver"),
    ],
)
def test_it_names_the_row_and_column_of_a_bad_rate(changed, field):
    with pytest.raises(InvalidRate) as caught:
        rate_book_from_rows([PULL, make.rate("cut", "cut", "infested_area_m2", 1, "h/ha") | changed])
    assert (caught.value.field, caught.value.row) == (field, 2)


@pytest.mark.parametrize("bad", [factor("slope_deg", 10, 0), factor("mood", 1, 2), make.figure("spread", "", 0.1)])
def test_it_refuses_a_bad_factor_or_figure(bad):
    with pytest.raises(InvalidRate):
        rate_book_from_rows([PULL, bad])


def test_it_refuses_a_row_twice_and_a_book_without_rates():
    with pytest.raises(InvalidRate, match="twice"):
        rate_book_from_rows([PULL, PULL])
    with pytest.raises(InvalidRate, match="no rates"):
        rate_book_from_rows([make.figure("spread", "cover_class", 0.2)])


def test_it_refuses_a_step_that_goes_by_two_drivers():
    other = make.rate("pull", "pull", "debris_m3", 1, "h/m3", growth_form="herb")
    with pytest.raises(InvalidRate, match="one driver"):
        assert rate_book_from_rows([PULL, other])
