"""The workbook, read back by another library."""

from datetime import date

import openpyxl
import pytest

from orders.reports import write_xlsx
from orders.reports.files import table_write
from tests.reports.files.made import ABOUT, INJECTIONS, table, texts


@pytest.fixture
def written(tmp_path):
    def write(told, **more):
        path = table_write(told, "xlsx", tmp_path, name="report", about=ABOUT).path
        return openpyxl.load_workbook(path, **more)

    return write


def test_it_begins_with_title_and_filters(written):
    sheet = written(table())["Rows"]
    assert [sheet.cell(row, 1).value for row in (1, 2, 3)] == ["Cost by site", "Season 2027.", "Fund: GEN."]


def test_it_writes_money_as_numbers_and_days_as_days(written):
    sheet = written(table())["Rows"]
    assert [cell.value.date() for cell in sheet[5][1:3]] == [date(2027, 2, 10), date(2027, 2, 1)]
    assert [cell.value for cell in (sheet[5][0], *sheet[5][3:])] == [
        "Élan, “North”",
        12345.67,
        pytest.approx(455 / 60),
        0.125,
        3,
        1500,
        1.25,
    ]
    assert sheet["D5"].number_format == "#,##0.00"
    assert sheet["B5"].number_format == "yyyy-mm-dd"
    assert sheet["F5"].number_format == "0.0%"


def test_its_total_is_a_formula_with_its_value(written):
    assert written(table())["Rows"]["D8"].value == "=SUM($D$5:$D$7)"
    assert written(table(), data_only=True)["Rows"]["D8"].value == 11358.07


def test_it_freezes_the_head_and_filters(written):
    sheet = written(table())["Rows"]
    assert sheet.freeze_panes == "B5"
    assert sheet.auto_filter.ref == "A4:I7"


@pytest.mark.parametrize("word", [word for word in INJECTIONS if not word.startswith(("\t", "\r"))])
def test_it_keeps_a_formula_as_text(written, word):
    cell = written(texts(word))["Rows"]["A3"]
    assert (cell.value, cell.data_type) in {(word, "s"), (word, "inlineStr")}


def test_it_says_who_when_and_how_the_ledger_was_proved(written):
    sheet = written(table())["About"]
    told = {row[0].value: row[1].value for row in sheet.iter_rows()}
    assert told["Made"] == "2027-03-01 09:30 UTC for Fay Frost"
    assert told["Proof"] == ABOUT.proof
    assert told["Report"] == "Cost by site"


def test_it_goes_on_with_another_sheet_where_one_is_full(written, monkeypatch):
    monkeypatch.setattr(write_xlsx, "MOST_ROWS", 2)
    book = written(table())
    assert book.sheetnames == ["Rows", "Rows 2", "About"]
    assert book["Rows 2"]["D6"].value == "=SUM('Rows'!$D$5:$D$6,'Rows 2'!$D$5)"


def test_it_writes_a_table_without_rows(written):
    sheet = written(table(rows=()))["Rows"]
    assert sheet["A4"].value == "Site"
    assert sheet["D5"].value == 0


def test_it_leaves_nothing_but_the_file(written, tmp_path):
    written(table())
    assert [path.name for path in tmp_path.iterdir()] == ["report.xlsx"]
