"""The report on paper: its text read back out of the file."""

import re

import pytest

from orders.reports import write_pdf
from orders.reports.files import table_write
from orders.reports.write_pdf import TooLongForPaper
from tests.desk.pages.pdf_text import pdf_streams, pdf_text
from tests.reports.files.made import ABOUT, ROWS, table, texts

CAPITAL_POINTS = 8 * 0.718  # of Helvetica-Bold at the size of a report's rows


@pytest.fixture
def text(tmp_path):
    def write(told):
        return pdf_text(table_write(told, "pdf", tmp_path, name="report", about=ABOUT).path.read_bytes())

    return write


def test_it_names_program_report_and_filters(text):
    told = text(table())
    assert "Fencerow Cost by site Season 2027. Fund: GEN." in told


def test_it_writes_figures_for_people(text):
    told = text(table())
    assert "12,345.67" in told
    assert "-987.65" in told
    assert "11,358.07" in told
    assert "12.5%" in told


def test_it_numbers_its_pages_and_repeats_the_head(text):
    told = text(table(rows=ROWS * 60))
    pages = told.count("Cost by site")
    assert pages > 2
    assert told.count("Page ") == pages
    assert f"Page {pages} of" in told
    assert told.count("Area,") == pages


def test_it_says_how_many_pages_there_are_once_for_all(text, tmp_path):
    text(table(rows=ROWS * 60))
    assert (tmp_path / "report.pdf").read_bytes().count(b"/Subtype /Form") == 1


def test_it_ends_with_the_proof_and_lines_to_sign(text):
    told = text(table())
    assert ABOUT.proof in told
    assert told.count("Date") == 3
    assert "Prepared by" in told


def test_it_keeps_the_total_off_its_rule(text, tmp_path):
    text(table())
    (page,) = [one for one in pdf_streams((tmp_path / "report.pdf").read_bytes()) if b"(Total)" in one]
    before, _ = page.split(b"(Total)")
    rule = float(re.findall(rb" ([0-9.]+) m ", before)[-1])
    baseline = float(re.findall(rb" ([0-9.]+) Tm", before)[-1])
    assert rule - baseline > CAPITAL_POINTS + 3


def test_it_cuts_no_figure_short(text):
    told = text(table(rows=((*ROWS[0][:3], 123_456_789_012_345, *ROWS[0][4:]),)))
    assert "1,234,567,890,123.45" in told


def test_it_says_that_there_are_no_rows(text):
    assert "There are no rows." in text(table(rows=()))


def test_it_writes_signs_that_the_font_lacks_otherwise(text):
    assert "<= 3 ?" in text(texts("≤ 3 木"))


def test_it_refuses_what_nobody_reads_on_paper(text, monkeypatch):
    monkeypatch.setattr(write_pdf, "MOST_ROWS", 5)
    with pytest.raises(TooLongForPaper):
        text(table(rows=ROWS * 3))
