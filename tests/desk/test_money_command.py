"""The end of a month from the terminal."""

import hashlib
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from orders.costs.models import JournalBatch, Period
from tests import build
from tests.costs.month_end import office_build, the_order

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(time_machine):
    time_machine.move_to("2027-04-05T15:00:00Z", tick=False)
    return office_build()


def _money(*words, by="finance"):
    out = StringIO()
    call_command("money", *words, "--as", by, stdout=out)
    return out.getvalue()


def test_it_proves_closes_confirms_and_reopens(office):
    assert "good trial-balance" in _money("proof")
    assert _money("close", "2027-02") == "February 2027 waits for another person\n"
    with pytest.raises(CommandError, match="another person has to confirm"):
        _money("confirm", "2027-02")
    assert _money("confirm", "2027-02", by="second") == "February 2027 is closed\n"
    assert "2027-02 closed" in _money("months")
    _money("reopen", "2027-02", "--because", "A bill came late.")
    assert _money("confirm", "2027-02", "--outside", "P. Sedge", "Auditors", "By letter") == "February 2027 is open\n"
    assert Period.objects.get().steps.count() == 4


def test_it_withdraws(office):
    _money("proof")
    _money("close", "2027-02")
    assert _money("withdraw", "2027-02") == "February 2027 is open\n"


def test_it_ends_with_an_error_where_the_proof_is_bad(office):
    build.OrderFundingFactory(order=the_order(), share_e4=1)
    with pytest.raises(CommandError, match="The proof is bad"):
        _money("proof")


def test_it_tells_what_is_open(office):
    assert "must Proof of the ledger (1): It was never run." in _money("steps", "2027-02")


def test_it_writes_a_journal(office, tmp_path):
    for account in ("cost-labor", "cost-mileage", "clear-payroll", "clear-mileage"):
        build.AccountMappingFactory(account=account)
    for words in ([], ["--number", "1"]):
        assert "Journal 1: " in _money("journal", *words, "--to", str(tmp_path / "journal.csv"))
        written = (tmp_path / "journal.csv").read_bytes()
        assert hashlib.sha256(written).hexdigest() == JournalBatch.objects.get().file_sha256


def test_it_is_closed_to_others(office):
    with pytest.raises(CommandError, match="open to finance"):
        _money("months", by="coordinator")
