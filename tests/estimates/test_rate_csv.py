"""Rates as CSV and back, to the letter, whatever text they hold."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.common.errors import Invalid
from orders.estimates.convert import RATE_COLUMNS
from orders.estimates.rate_csv import rates_csv, rates_from_csv
from tests.flow.world import REFERENCE, csv_rows

TEXT = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12)
CELLS = st.one_of(
    TEXT, st.sampled_from(["=1+1", "'=1", "''=", "-5", "+x", "@a", "'", "\tx", "0.50", "-", "a,b", '"q"'])
)
ROWS = st.lists(st.fixed_dictionaries(dict.fromkeys(RATE_COLUMNS, CELLS) | {"kind": st.just("rate")}), max_size=4)


@given(ROWS)
def test_it_reads_what_it_wrote(rows):
    assert rates_from_csv(rates_csv(rows)) == rows


@pytest.mark.parametrize("name", ["rate_book.csv", "rate_book_volunteers.csv"])
def test_it_keeps_the_reference_rates(name):
    rows = csv_rows(name)
    assert rates_from_csv(rates_csv(rows)) == rates_from_csv((REFERENCE / name).read_text()) == rows


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("=SUM(A1)", "'=SUM(A1)"),
        ("-x", "'-x"),
        ("＝1", "'＝1"),
        ("-0.5", "-0.5"),
        ("+3", "+3"),
        ("'=1", "''=1"),
        ("a", "a"),
    ],
)
def test_it_guards_only_what_a_spreadsheet_could_run(text, shown):
    row = dict.fromkeys(RATE_COLUMNS, "") | {"source": text}
    cells = list(csv.DictReader(io.StringIO(rates_csv([row]), newline="")))
    assert cells[0]["source"] == shown


def test_it_reads_columns_in_any_order_and_a_byte_order_mark():
    text = "\ufeffsource,value,kind\r\ninvented,4,rate\r\n"
    assert rates_from_csv(text) == [{"source": "invented", "value": "4", "kind": "rate"}]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "lacks the column 'kind'"),
        ("kind,value\n", "lacks the column 'source'"),
        ("kind,value,source,price\n", "'price'"),
        ("kind,kind,value,source\n", "'kind' twice"),
        ("kind,value,source\nrate,1,x,more\n", "1 more cells"),
        ('kind,value,source\nrate,"1,x\n', "is no CSV"),
    ],
)
def test_it_says_what_is_wrong_with_the_table(text, words):
    with pytest.raises(Invalid) as refused:
        rates_from_csv(text)
    assert words in " ".join(error.message for error in refused.value.errors)


def test_it_names_the_row_that_is_too_long():
    with pytest.raises(Invalid) as refused:
        rates_from_csv("kind,value,source\nrate,1,x\n\nrate,1,x,more\n")
    assert [error.row for error in refused.value.errors] == [2]
