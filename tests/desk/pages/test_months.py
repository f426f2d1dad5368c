"""The end of a month on the desk: its steps, the proof, two people; outer accounts and journals."""

import html

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.costs.models import AccountMapping, JournalBatch, LedgerEntry, Period, Proof
from orders.workorders.models import TimeEntry
from tests import build
from tests.costs.month_end import office_build, posted_again

pytestmark = pytest.mark.django_db

FEBRUARY = "/money/months/2027-02/"
ACCOUNTS = ("cost-labor", "cost-mileage", "clear-payroll", "clear-mileage")


@pytest.fixture
def office(time_machine):
    time_machine.move_to("2027-04-05T15:00:00Z", tick=False)
    return office_build()


@pytest.fixture
def first(client, office):
    client.force_login(office.first)
    return client


def shown(client, address):
    reply = client.get(address)
    assert reply.status_code == 200
    return html.unescape(reply.content.decode())


def test_it_lists_the_months_with_what_is_posted(first):
    page = shown(first, "/money/months/")
    assert "February 2027" in page
    assert "never proven" in page


def test_it_is_closed_to_others(client, office, coordinator):
    client.force_login(coordinator)
    for address in ("/money/months/", FEBRUARY, "/money/proofs/", "/money/mappings/"):
        assert client.get(address).status_code == 403


def test_it_tells_a_bad_proof(first):
    build.ProofFactory(is_good=False)
    assert "The last proof is bad." in shown(first, "/money/months/")


def test_it_counts_what_is_open(first, office):
    posted_again(LedgerEntry.objects.earliest("id"), posting_month="2027-01-01")
    page = shown(first, FEBRUARY)
    assert "1: needed to close" in page[page.index("Earlier months to close") :][:300]
    worked = TimeEntry.objects.earliest("work_date").work_date
    page = shown(first, f"/money/months/{worked:%Y-%m}/")
    assert f"?day={worked}" in page[page.index("Day sheets to confirm") - 100 :][:300]
    assert "3 to look at" in page[page.index("Day sheets to confirm") :][:300]


def test_it_closes_by_two_people_and_opens_again(client, first, office):
    first.post("/money/proofs/run/")
    assert Proof.objects.get().is_good
    first.post(FEBRUARY, {"act": "ask-close"})
    assert Period.objects.get().state == "closing"
    alone = first.post(FEBRUARY, {"act": "confirm-close"})
    assert (alone.status_code, Period.objects.get().state) == (400, "closing")
    assert "another person has to confirm" in html.unescape(alone.content.decode())
    half = first.post(FEBRUARY, {"act": "confirm-close", "outside_name": "P. Sedge"})
    assert half.content.decode().count("is empty") == 2
    client.force_login(office.second)
    client.post(FEBRUARY, {"act": "confirm-close", "version": Period.objects.get().version})
    assert Period.objects.get().state == "closed"
    closed = shown(client, FEBRUARY)
    assert "By account, as it was closed" in closed
    assert [account for account in ACCOUNTS if f">{account}<" in closed] == []
    assert client.post(FEBRUARY, {"act": "ask-reopen", "reason": ""}).status_code == 400
    client.post(FEBRUARY, {"act": "ask-reopen", "reason": "A bill came late."})
    client.post(FEBRUARY, {"act": "withdraw"})
    assert Period.objects.get().state == "closed"


def test_it_closes_with_a_named_outsider(first):
    first.post("/money/proofs/run/")
    first.post(FEBRUARY, {"act": "ask-close"})
    told = {"outside_name": "P. Sedge", "outside_organization": "Invented Auditors", "outside_how": "By letter"}
    first.post(FEBRUARY, {"act": "confirm-close", **told})
    assert Period.objects.get().state == "closed"
    assert "agreed outside: P. Sedge, Invented Auditors (By letter)" in shown(first, FEBRUARY)


def test_it_tells_why_it_cannot_be_closed(first):
    reply = first.post(FEBRUARY, {"act": "ask-close"})
    assert (reply.status_code, "run it again" in reply.content.decode()) == (409, True)


def test_it_does_not_know_other_acts_and_months(first):
    assert first.post(FEBRUARY, {"act": "burn"}).status_code == 404
    assert first.get("/money/months/2027-13/").status_code == 404


def test_it_shows_a_proof_check_by_check(first):
    build.OrderFundingFactory(order=LedgerEntry.objects.earliest("id").order, share_e4=1)
    reply = first.post("/money/proofs/run/", follow=True)
    page = html.unescape(reply.content.decode())
    assert "sums to the whole" in page
    assert "10001 of 10000" in page


def test_it_adds_changes_and_takes_away_a_mapping(first):
    first.post("/money/mappings/add/", {"account": "cost-labor", "outer_code": "5100"})
    mapping = AccountMapping.objects.get()
    again = first.post("/money/mappings/add/", {"account": "cost-labor", "outer_code": "5200"})
    assert (again.status_code, "has an outer code already" in again.content.decode()) == (400, True)
    first.post(f"/money/mappings/{mapping.public_id}/", {"outer_code": "5300", "outer_name": "Pay", "version": 1})
    assert "5300" in shown(first, "/money/mappings/")
    last = {"outer_code": "5300", "version": 2, "remove": "yes"}
    first.post(f"/money/mappings/{mapping.public_id}/", last)
    assert not AccountMapping.objects.exists()


def test_it_takes_and_gives_mappings_as_a_file(first):
    text = "account,fund,award,category,outer_code,outer_name\ncost-labor,OPS,,,5100,Wages\ncost-mileage,,,,-5200,\n"
    first.post("/money/mappings/file/", {"file": SimpleUploadedFile("codes.csv", text.encode())})
    given = first.get("/money/mappings/mappings.csv").content.decode()
    assert "cost-labor,OPS,,,5100,Wages" in given
    assert "cost-mileage,,,,'-5200," in given
    first.post("/money/mappings/file/", {"file": SimpleUploadedFile("codes.csv", given.encode())})
    assert set(AccountMapping.objects.values_list("outer_code", "version")) == {("5100", 1), ("-5200", 1)}


def test_it_takes_nothing_of_a_file_with_a_wrong_row(first):
    text = "account,fund,award,category,outer_code,outer_name\ncost-labor,,,,5100,\ncost-labor,NONE,,,5,\nx,,,,,\n"
    reply = first.post("/money/mappings/file/", {"file": SimpleUploadedFile("codes.csv", text.encode())})
    page = html.unescape(reply.content.decode())
    assert ("Row 3, fund: NONE is not known here" in page, "Row 4, account" in page) == (True, True)
    assert not AccountMapping.objects.exists()


def test_it_makes_a_journal_and_gives_its_file(first):
    refused = html.unescape(first.post("/money/journals/make/").content.decode())
    assert "clear-payroll · OPS · labor" in refused
    for account in ACCOUNTS:
        build.AccountMappingFactory(account=account)
    first.post("/money/journals/make/")
    batch = JournalBatch.objects.get()
    reply = first.get(f"/money/journals/{batch.public_id}/journal.csv")
    lines = b"".join(reply.streaming_content).decode().splitlines()
    assert len(lines) == 1 + 2 * batch.rows_count
    assert "Every ledger row is in a journal." in shown(first, "/money/mappings/")
