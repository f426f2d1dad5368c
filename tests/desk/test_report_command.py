"""Reports from the terminal."""

import csv
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance():
    build.LedgerEntryFactory(fund=build.FundFactory(code="CITY"), amount_cents=12_345)
    return build.UserFactory(username="fay", roles=["finance"])


def _report(*words):
    out = StringIO()
    call_command("report", *words, stdout=out)
    return out.getvalue()


def test_it_writes_a_report(finance, tmp_path):
    file = tmp_path / "cost.csv"
    told = _report("cost", "--as", "fay", "--query", "by=fund", "--out", str(file))
    with file.open(newline="", encoding="utf-8") as opened:
        assert [row["Actual"] for row in csv.DictReader(opened)] == ["123.45", "123.45"]
    assert "1 rows" in told


@pytest.mark.parametrize(("file_format", "start"), [("xlsx", b"PK"), ("pdf", b"%PDF")])
def test_it_writes_the_other_formats(finance, tmp_path, file_format, start):
    file = tmp_path / "file"
    _report("ledger", "--as", "fay", "--format", file_format, "--out", str(file))
    assert file.read_bytes().startswith(start)


def test_it_goes_by_the_role_of_the_user(finance, tmp_path):
    build.UserFactory(username="cora", roles=["coordinator"])
    with pytest.raises(CommandError, match="open to these roles"):
        _report("cost", "--as", "cora", "--out", str(tmp_path / "file"))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("nothing", "--as", "fay"), "no such report"),
        (("cost", "--as", "nobody"), "no user"),
        (("cost", "--as", "fay", "--query", "by"), "no WORD=VALUE"),
        (("cost", "--as", "fay", "--query", "month_from=2027"), "month_from"),
    ],
)
def test_it_says_what_is_wrong(finance, tmp_path, words, told):
    with pytest.raises(CommandError, match=told):
        _report(*words, "--out", str(tmp_path / "file"))
