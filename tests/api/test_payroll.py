"""Pay periods, their files, and what payroll cost, by the API."""

from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.costs.models import LedgerEntry
from tests import build
from tests.api.caller import Caller, error_fields
from tests.costs.payday import DAY, labor, worked

pytestmark = pytest.mark.django_db
PATH = "/api/pay-periods"


@pytest.fixture
def finance():
    return Caller(build.UserFactory(roles=["finance"]))


@pytest.fixture
def opened(finance):
    reply = finance.send(PATH, {"first_day": "2027-02-07", "last_day": "2027-02-20"})
    assert reply.status_code == 201
    return reply.json()


def sent(finance, opened, data):
    file = SimpleUploadedFile("pay.csv", data)
    body = {"pay_period": opened["id"], "file": file}
    return finance.post("/api/payroll-imports", body, format="multipart", headers={"Idempotency-Key": uuid4().hex})


def exported(finance, opened, version=1):
    return finance.send(f"{PATH}/{opened['id']}/export", {"version": version})


def test_it_opens_and_finds_a_period(finance, opened):
    assert (opened["state"], opened["file_sha256"]) == ("open", "")
    assert finance.rows(f"{PATH}?day=2027-02-10&state=open") == [opened]
    assert finance.rows(f"{PATH}?day=2027-02-21") == []
    assert finance.get(f"{PATH}/{opened['id']}").json() == opened


def test_it_refuses_days_of_another_period(finance, opened):
    reply = finance.send(PATH, {"first_day": "2027-02-20", "last_day": "2027-02-27"})
    assert (reply.status_code, error_fields(reply)) == (400, ["first_day"])


def test_it_shows_hours_and_what_is_wrong_with_them(finance, opened):
    person = build.PersonFactory(name="R. Teasel")
    build.TimeEntryFactory(person=person, minutes=200)
    told = finance.get(f"{PATH}/{opened['id']}/hours").json()
    (day,) = told["days"]
    assert (day["person"]["name"], day["by_code"], day["has_day_sheet"]) == ("R. Teasel", {"regular": 200}, False)
    assert {problem["code"] for problem in told["problems"]} >= {"no-day-sheet"}


def test_it_exports_once_and_gives_the_file(finance, opened):
    worked(build.PersonFactory(name="R. Teasel"), DAY, 450)
    assert finance.get(f"{PATH}/{opened['id']}/file").status_code == 409
    reply = exported(finance, opened, opened["version"])
    assert (reply.status_code, reply.json()["state"]) == (200, "exported")
    assert exported(finance, opened, 2).status_code == 409
    file = finance.get(f"{PATH}/{opened['id']}/file")
    assert file.headers["Content-Type"] == "text/csv; charset=utf-8; header=present"
    assert "R. Teasel,2027-02-10,regular,450,7.50,no\r\n" in file.content.decode()


def test_it_refuses_an_export_of_another_version(finance, opened):
    assert exported(finance, opened, 9).status_code == 412


def test_it_takes_a_file_and_reconciles(finance, opened):
    person = build.PersonFactory(name="R. Teasel")
    worked(person)
    labor(person, 12_000, build.FundFactory())
    exported(finance, opened)
    reply = sent(finance, opened, b"name,gross,employer\r\nR. Teasel,100.00,25.00\r\n")
    assert (reply.status_code, reply.json()["total_cents"], reply.json()["ledger_cents"]) == (201, 12_500, 12_000)
    (line,) = finance.get(reply.headers["Location"]).json()["lines"]
    assert (line["row_number"], line["gross_cents"], line["employer_cents"]) == (2, 10_000, 2_500)
    (row,) = finance.get(f"{PATH}/{opened['id']}/reconciliation").json()["people"]
    assert (row["told_minutes"], row["difference_cents"], row["in_file"]) == (480, 500, True)
    assert len(finance.rows(f"/api/payroll-imports?pay_period={opened['id']}")) == 1


def test_it_names_row_and_field_of_a_wrong_file(finance, opened):
    exported(finance, opened)
    reply = sent(finance, opened, b"name,gross,employer\r\nN. Obody,x,1\r\n")
    found = [(error["row"], error["field"]) for error in reply.json()["errors"]]
    assert (reply.status_code, found) == (400, [(2, "person"), (2, "gross")])
    assert not LedgerEntry.objects.exists()


def test_it_makes_the_effort_statements_of_a_period(finance, opened):
    worked(build.PersonFactory())
    first = finance.send(f"{PATH}/{opened['id']}/effort-statements").json()
    assert len(first["statements"]) == 1
    assert finance.send(f"{PATH}/{opened['id']}/effort-statements").json() == first


def test_it_knows_no_other_period(finance):
    for ending in ("", "/hours", "/file", "/reconciliation"):
        assert finance.get(f"{PATH}/{uuid4()}{ending}").status_code == 404
