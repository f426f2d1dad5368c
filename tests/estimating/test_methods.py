import pytest

from estimating.errors import InvalidFact, UnknownCode
from estimating.methods import methods_from_rows
from tests.estimating import make


def rows(**changed):
    return [make.rows("methods.csv")[0] | changed]


def test_it_reads_the_reference_table():
    table = make.methods()
    assert len(table) == len(table.codes) == len(set(table.codes)) >= 11
    assert table["cut-stem"].needs_license
    assert not table["cut"].uses_herbicide


def test_it_asks_for_a_license_wherever_herbicide_is_used():
    assert [method.code for method in make.methods().methods if method.uses_herbicide != method.needs_license] == []


@pytest.mark.parametrize("method", make.methods().methods, ids=lambda method: method.code)
def test_it_agrees_with_the_rate_book_on_what_a_method_treats(method):
    assert make.book().treats(method.code).tolist() == method.treats().tolist()


@pytest.mark.parametrize(
    ("changed", "kind", "field"),
    [
        ({"uses_herbicide": "maybe"}, InvalidFact, "uses_herbicide"),
        ({"lowest_temp_c": "cold"}, InvalidFact, "lowest_temp_c"),
        ({"growth_forms": "tree"}, UnknownCode, "growth_forms"),
        ({"season_rule": "whenever"}, UnknownCode, "season_rule"),
        ({"smallest_use": "tiny"}, UnknownCode, "smallest_use"),
    ],
)
def test_it_names_the_row_and_column_of_a_bad_method(changed, kind, field):
    with pytest.raises(kind) as caught:
        methods_from_rows(rows(**changed))
    assert (caught.value.field, caught.value.row) == (field, 1)


def test_it_refuses_a_code_twice():
    with pytest.raises(InvalidFact, match="twice"):
        methods_from_rows(rows() + rows())


def test_it_refuses_a_method_it_does_not_know():
    with pytest.raises(UnknownCode, match="flame"):
        make.methods()["flame"]
