"""The workbook in LibreOffice: opened, every formula figured anew, and compared with what the program says."""

import os
import re
import subprocess
import zipfile

import openpyxl
import pytest

from orders.reports.files import table_write
from tests.reports.files.made import ABOUT, INJECTIONS, ROWS, table, texts

pytestmark = pytest.mark.office

SECONDS = 180
# Formulas of workbooks are figured anew whenever one is opened (0), whatever program wrote it.
SETTINGS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""


@pytest.fixture
def opened(tmp_path):
    """What LibreOffice makes of a workbook, as openpyxl reads the values that it saved."""
    profile = tmp_path / "profile" / "user"
    profile.mkdir(parents=True)
    (profile / "registrymodifications.xcu").write_text(SETTINGS)

    def convert(path):
        out = tmp_path / "out"
        command = [
            os.environ.get("FENCEROW_SOFFICE", "soffice"),
            f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}",
            *("--headless", "--convert-to", "xlsx", "--outdir", str(out), str(path)),
        ]
        done = subprocess.run(command, capture_output=True, text=True, timeout=SECONDS, check=False)
        assert done.returncode == 0, done.stderr
        return openpyxl.load_workbook(out / path.name, data_only=True)

    return convert


def _values_taken_out(path):
    """The same workbook with 0 beside each formula, so that a figure must come from the formula itself."""
    without = path.with_name("without.xlsx")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(without, "w") as new:
        for name in old.namelist():
            text = old.read(name).decode()
            new.writestr(name, re.sub(r"</f><v>[^<]*</v>", "</f><v>0</v>", text))
    assert openpyxl.load_workbook(without, data_only=True)["Rows"]["D8"].value in {0, None}
    return without


def test_it_comes_to_the_same_totals(tmp_path, opened):
    path = table_write(table(), "xlsx", tmp_path, name="report", about=ABOUT).path
    told = openpyxl.load_workbook(path, data_only=True)["Rows"]
    found = opened(_values_taken_out(path))["Rows"]
    assert found["D8"].value == pytest.approx(sum(row[3] for row in ROWS) / 100)
    for cell in ("D8", "E8", "G8"):
        assert found[cell].value == pytest.approx(told[cell].value)


def test_it_adds_up_many_rows_to_the_cent(tmp_path, opened):
    rows = [(*ROWS[0][:3], 1_000_001 + number * 37, *ROWS[0][4:]) for number in range(20_000)]
    path = table_write(table(rows=rows), "xlsx", tmp_path, name="report", about=ABOUT).path
    found = opened(path)["Rows"]["D20005"].value
    assert round(found * 100) == sum(row[3] for row in rows)


def test_it_shows_a_formula_as_text(tmp_path, opened):
    words = [word for word in INJECTIONS if not word.startswith(("\t", "\r"))]
    path = table_write(texts(*words), "xlsx", tmp_path, name="report", about=ABOUT).path
    sheet = opened(path)["Rows"]
    assert [sheet.cell(row, 1).value for row in range(3, 3 + len(words))] == words
