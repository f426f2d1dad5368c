"""The archive of a month."""

import shutil
import subprocess
import zipfile
from datetime import date

import pytest

from orders.common.errors import Invalid, RoleMissing
from orders.reports.catalog import REPORTS
from orders.reports.handover import MANIFEST, PIECES, period_words
from orders.reports.selectors import export_file
from orders.reports.services import handover_ask
from tests import build

pytestmark = pytest.mark.django_db
MONTH = date(2027, 2, 1)


@pytest.fixture
def unpacked(stamp, books, perform, tmp_path):
    def make(name):
        run = perform(handover_ask(month=MONTH, stamp=stamp))
        folder = tmp_path / name
        with zipfile.ZipFile(export_file(stamp.by, run.public_id)[1]) as archive:
            archive.extractall(folder)
        return folder

    return make


def test_it_holds_every_report_in_three_forms(unpacked):
    folder = unpacked("one")
    names = {path.name for path in folder.iterdir()}
    pieces = [piece.name for piece in PIECES if piece.report in REPORTS]
    assert {f"{name}.{ending}" for name in pieces for ending in ("csv", "xlsx", "pdf")} < names
    assert {"README.txt", "period.txt", "proof.txt", MANIFEST} < names
    assert {"cost-by-fund-and-category", "ledger", "trial-balance"} <= set(pieces)


def test_its_sums_are_right(unpacked):
    program = shutil.which("sha256sum")
    assert program
    folder = unpacked("one")
    done = subprocess.run([program, "-c", MANIFEST], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout
    assert len(done.stdout.splitlines()) == len(list(folder.iterdir())) - 1


def test_it_gives_the_same_csv_for_the_same_rows(unpacked):
    first, second = ({path.name: path.read_bytes() for path in unpacked(name).glob("*.csv")} for name in ("one", "two"))
    assert first == second
    assert "123.45" in first["cost-by-fund-and-category.csv"].decode()


def test_it_says_what_is_in_it_in_plain_words(unpacked):
    words = (unpacked("one") / "README.txt").read_text()
    assert "the books of February 2027" in words
    assert "sha256sum -c" in words


def test_it_tells_the_state_of_the_month():
    assert "is open" in period_words(MONTH)
    period = build.PeriodFactory(first_day=MONTH, state="closed")
    build.PeriodStepFactory(period=period, kind="close", by=build.UserFactory(username="cal"))
    assert "February 2027: Closed." in period_words(MONTH)
    assert "Closed: cal" in period_words(MONTH)


def test_it_is_asked_for_by_finance(stamp):
    with pytest.raises(RoleMissing):
        handover_ask(month=MONTH, stamp=build.stamp(build.UserFactory(roles=["coordinator"])))
    with pytest.raises(Invalid):
        handover_ask(month=date(2027, 2, 2), stamp=stamp)
