"""Months, proofs, outer accounts and journals over the API; the ledger since a place."""

import hashlib

import pytest

from orders.costs.models import AccountMapping, JournalBatch, LedgerEntry, Period
from tests import build
from tests.api.caller import Caller, error_fields
from tests.costs.month_end import office_build, the_order

pytestmark = pytest.mark.django_db

OUTSIDER = {"name": "P. Sedge", "organization": "Invented Auditors", "how": "By letter"}


@pytest.fixture
def office(time_machine):
    time_machine.move_to("2027-04-05T15:00:00Z", tick=False)
    return office_build()


@pytest.fixture
def first(office):
    return Caller(office.first)


def _asked(first):
    assert first.send("/api/proofs").json()["is_good"]
    reply = first.send("/api/periods", {"month": "2027-02-01"})
    assert (reply.status_code, reply.json()["state"]) == (201, "closing")
    return reply.json()


def test_it_closes_and_reopens_by_two_people(office, first):
    period, second = _asked(first), Caller(office.second)
    path = f"/api/periods/{period['id']}"
    alone = first.send(f"{path}/confirm-close", {"version": period["version"]})
    assert (alone.status_code, alone.json()["code"]) == (409, "second_person_missing")
    closed = second.send(f"{path}/confirm-close", {"version": period["version"]}).json()
    assert (closed["state"], sum(closed["balances"].values())) == ("closed", 0)
    body = {"version": closed["version"], "reason": "A bill came late."}
    asked = first.send(f"{path}/ask-reopen", body).json()
    opened = first.send(f"{path}/confirm-reopen", {"version": asked["version"], "outsider": OUTSIDER}).json()
    assert (opened["state"], opened["steps"][-1]["outside_name"]) == ("open", "P. Sedge")
    assert [step["kind"] for step in first.get(path).json()["steps"]] == ["ask_close", "close", "ask_reopen", "reopen"]


def test_it_refuses_an_old_version(office, first):
    period = _asked(first)
    reply = Caller(office.second).send(f"/api/periods/{period['id']}/confirm-close", {"version": 99})
    assert (reply.status_code, reply.json()["code"]) == (412, "version_mismatch")


def test_it_names_what_is_missing_of_an_outsider(first):
    period = _asked(first)
    told = {"version": period["version"], "outsider": {"name": "P. Sedge"}}
    reply = first.send(f"/api/periods/{period['id']}/confirm-close", told)
    assert (reply.status_code, len(error_fields(reply))) == (400, 2)


def test_it_withdraws(first):
    period = _asked(first)
    assert first.send(f"/api/periods/{period['id']}/withdraw", {"version": period["version"]}).json()["state"] == "open"


def test_it_refuses_without_a_proof(first):
    reply = first.send("/api/periods", {"month": "2027-02-01"})
    assert (reply.status_code, reply.json()["code"], Period.objects.exists()) == (409, "proof_missing", False)


def test_it_shows_a_bad_proof_check_by_check(first):
    build.OrderFundingFactory(order=the_order(), share_e4=1)
    made = first.send("/api/proofs").json()
    shown = first.get(f"/api/proofs/{made['id']}").json()
    assert [check["code"] for check in shown["checks"] if not check["good"]] == ["funding-shares"]
    assert first.rows("/api/proofs")[0]["is_good"] is False


def test_it_maps_accounts_and_hands_over_a_journal(first):
    refused = first.send("/api/journal-batches")
    assert (refused.status_code, refused.json()["code"]) == (409, "accounts_unmapped")
    for account in ("cost-labor", "cost-mileage", "clear-payroll", "clear-mileage"):
        first.send("/api/account-mappings", {"account": account, "outer_code": f"X-{account}"})
    mapping = AccountMapping.objects.get(account="cost-labor")
    path = f"/api/account-mappings/{mapping.public_id}"
    assert first.edit(path, {"outer_code": "5100"}, etag=first.get(path)["ETag"]).json()["outer_code"] == "5100"
    made = first.send("/api/journal-batches").json()
    reply = first.get(f"/api/journal-batches/{made['id']}/journal.csv")
    written = b"".join(reply.streaming_content)
    assert hashlib.sha256(written).hexdigest() == made["file_sha256"] == JournalBatch.objects.get().file_sha256
    assert written.count(b",5100,") > 0
    assert first.send(f"{path}/remove", {"version": 2}).status_code == 200
    assert AccountMapping.objects.count() == 3


def test_it_gives_the_ledger_since_a_place(first):
    rows = first.rows("/api/ledger")
    assert [row["number"] for row in rows] == sorted(LedgerEntry.objects.values_list("id", flat=True))
    since = rows[1]["number"]
    assert first.rows(f"/api/ledger?since={since}&limit=1") == rows[2:]
    assert first.rows(f"/api/ledger?since={rows[-1]['number']}") == []
    assert {(row["book"], row["debit"], row["credit"]) for row in rows} >= {("cost", "cost-labor", "clear-payroll")}
    assert error_fields(first.get("/api/ledger?since=-1")) == ["since"]
