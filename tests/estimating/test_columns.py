import numpy as np
import pytest

from estimating.errors import InvalidFact
from tests.estimating import make


def test_it_fills_in_what_was_left_out():
    facts = make.patches(2)
    assert facts.slope_deg.tolist() == [0, 0]
    assert facts.area_mapped.tolist() == [True, True]
    assert facts.target_cover.tolist() == [0.05, 0.05]


def test_it_locks_its_arrays():
    with pytest.raises(ValueError, match="read-only"):
        make.patches().gross_area_m2[0] = 1


def test_it_keeps_its_own_copy():
    areas = np.array([100.0, 200.0])
    facts = make.patches(2, gross_area_m2=areas)
    areas[0] = -1
    assert facts.gross_area_m2[0] == 100


@pytest.mark.parametrize(
    ("column", "values", "message"),
    [
        ("gross_area_m2", [100, 0], "above 0"),
        ("gross_area_m2", [100, np.nan], "missing"),
        ("gross_area_m2", [100, np.inf], "finite"),
        ("slope_deg", [0, 76], "at most 75"),
        ("slope_deg", [0, -1], "at least 0"),
        ("repeat_year", [1, 0], "at least 1"),
        ("wet_ground", [0, 3], "at most 2"),
    ],
)
def test_it_names_the_column_and_the_row_of_a_fact_that_cannot_be(column, values, message):
    with pytest.raises(InvalidFact, match=message) as caught:
        make.patches(2, **{column: values})
    assert (caught.value.field, caught.value.row) == (column, 1)
    assert str(caught.value) == f"{column}: {caught.value.message} (row 1)"


@pytest.mark.parametrize("values", [[1.0], 5.0, [[1, 2], [3, 4]]])
def test_it_refuses_a_column_of_another_shape(values):
    with pytest.raises(InvalidFact, match="shape"):
        make.patches(2, slope_deg=values)


def test_it_refuses_words_where_numbers_belong():
    with pytest.raises(InvalidFact, match="cannot be read as numbers"):
        make.patches(1, slope_deg=["steep"])


def test_it_takes_some_rows():
    some = make.patches(3, slope_deg=[1, 2, 3]).take(np.array([2, 0]))
    assert (some.ids, some.slope_deg.tolist()) == (("patch 2", "patch 0"), [3, 1])


def test_it_checks_a_column_that_is_changed_while_taking_rows():
    with pytest.raises(InvalidFact, match="at most 75"):
        make.patches(2).take(np.array([0]), slope_deg=[80])
    with pytest.raises(InvalidFact, match="no column"):
        make.patches(2).take(np.array([0]), mood=[1])


def test_it_locks_the_rows_it_takes():
    with pytest.raises(ValueError, match="read-only"):
        make.patches(2).take(np.array([0])).slope_deg[0] = 5


def test_it_shows_a_row_as_plain_values():
    row = make.patches(2, slope_deg=[1, 2]).row(1)
    assert (row["id"], row["slope_deg"], row["area_mapped"]) == ("patch 1", 2.0, True)
