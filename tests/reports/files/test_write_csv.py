"""The CSV writer, read back by other libraries."""

import csv
import io

import pandas
import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.reports.table import Column, Table
from orders.reports.walk import TotalWrong
from orders.reports.write_csv import csv_text
from tests.reports.files.made import INJECTIONS, table, texts


def test_it_is_read_back_by_pandas():
    read = pandas.read_csv(io.StringIO(csv_text(table())), keep_default_na=False)
    assert list(read.columns) == ["Site", "Day", "Month", "Actual", "Hours", "Share", "Rows", "Area, m²", "Rate"]
    assert list(read["Site"]) == ["Élan, “North”", "two\nlines", "", "Total"]
    assert list(read["Actual"]) == [12345.67, -987.65, 0.05, 11358.07]
    assert list(read["Hours"].astype(str)) == ["7.58", "1.00", "", "8.58"]


def test_it_ends_each_record_with_crlf_and_quotes_what_must_be():
    text = csv_text(table())
    assert text.endswith("\r\n")
    assert '"Élan, “North”",2027-02-10,2027-02,12345.67,7.58,12.5,3,1500.0,1.25\r\n' in text
    assert '"two\nlines"' in text


def test_it_has_a_form_that_a_sniffer_knows():
    found = csv.Sniffer().sniff("a,b\r\n" + csv_text(table(rows=[row for row in table().rows if "\n" not in row[0]])))
    assert found.delimiter == ","


@pytest.mark.parametrize("word", INJECTIONS)
def test_it_keeps_a_formula_as_text(word):
    read = list(csv.reader(io.StringIO(csv_text(texts(word)), newline="")))
    assert read[1][0] == f"'{word}"


def test_it_guards_headings_too():
    read = list(csv.reader(io.StringIO(csv_text(Table("", (), (Column("a", "=1+1", "text"),), ())))))
    assert read == [["'=1+1"]]


def test_it_leaves_negative_numbers_numbers():
    assert ",-987.65," in csv_text(table())


def test_it_refuses_a_total_that_is_not_the_sum():
    wrong = ("Total", None, None, 1_135_808, 515, None, 4, None, None)
    with pytest.raises(TotalWrong, match="Actual"):
        csv_text(table(total=wrong))


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\0")), max_size=5))
def test_it_never_begins_a_text_as_a_formula_and_loses_no_sign(words):
    read = list(csv.reader(io.StringIO(csv_text(texts(*words)), newline="")))[1:]
    assert [row[0] if row else "" for row in read] == [
        word if not word.startswith(("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")) else f"'{word}"
        for word in words
    ]


@given(st.lists(st.integers(-(10**12), 10**12), max_size=20))
def test_it_writes_money_that_adds_up_to_the_cent(cents):
    columns = (Column("key", "Key", "text"), Column("c", "C", "cents", total=True))
    told = Table("", (), columns, [("x", amount) for amount in cents])
    read = [row[1].replace(".", "") for row in csv.reader(io.StringIO(csv_text(told)))][1:]
    assert [int(cell) for cell in read] == [*cents, sum(cents)]
