"""Pages of payroll: opened, sent once, downloaded, reconciled."""

import html

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from orders.costs.models import LedgerEntry, PayPeriod
from tests import build
from tests.browser import payroll_pages
from tests.costs.payday import DAY, FIRST, LAST, exported, period, worked

pytestmark = pytest.mark.django_db


@pytest.fixture
def money(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    return client


def shown(client, address):
    reply = client.get(address)
    assert reply.status_code == 200
    return html.unescape(reply.content.decode())


def test_it_opens_a_period(money):
    days = {"first_day": "2027-02-07", "last_day": "2027-02-20"}
    assert money.post("/money/payroll/", days).status_code == 302
    assert (PayPeriod.objects.get().first_day, PayPeriod.objects.get().last_day) == (FIRST, LAST)
    reply = money.post("/money/payroll/", days)
    assert (reply.status_code, "in the pay period" in reply.content.decode()) == (400, True)


def test_it_proposes_the_days_that_follow(money, stamp):
    period(stamp=stamp)
    assert 'value="2027-02-21"' in shown(money, "/money/payroll/")


def test_it_shows_hours_by_person_code_and_day(money):
    page = shown(money, payroll_pages.period_open())
    row = page[page.index('<th scope="row">A. Larkspur') :]
    cells = [cell.split("<")[0] for cell in row[: row.index("</tr>")].split('<td class="number">')[1:]]
    assert cells[:4] == ["72.48", "1.20", "", "73.68"]
    assert "R. Teasel has no day sheet of Feb 11, 2027" in page
    assert "M. Rush on Feb 10, 2027" in page


def test_it_sends_once_and_gives_the_file(money, stamp):
    worked(build.PersonFactory(name="R. Teasel"))
    opened = period(stamp=stamp)
    address = f"/money/payroll/{opened.public_id}/"
    assert "Send and lock" in shown(money, f"{address}export/")
    assert money.post(f"{address}export/", {"version": opened.version}).status_code == 302
    assert money.post(f"{address}export/", {"version": opened.version}).status_code == 409
    file = money.get(f"{address}payroll.csv")
    assert "R. Teasel,2027-02-10,regular,480,8.00,no\r\n" in file.content.decode()
    assert 'filename="payroll-2027-02-07-to-2027-02-20.csv"' in file.headers["Content-Disposition"]


@pytest.mark.parametrize("version", ["7", "", "x", "９"])
def test_it_refuses_what_was_changed_meanwhile(money, stamp, version):
    opened = period(stamp=stamp)
    assert money.post(f"/money/payroll/{opened.public_id}/export/", {"version": version}).status_code == 412
    opened.refresh_from_db()
    assert opened.state == "open"


def test_it_tells_every_fault_of_a_payroll_file(money, stamp):
    done = exported(stamp=stamp)
    file = SimpleUploadedFile("pay.csv", b"name,gross,employer\r\nN. Obody,x,1\r\n")
    reply = money.post(f"/money/payroll/{done.public_id}/import/", {"file": file})
    page = html.unescape(reply.content.decode())
    assert reply.status_code == 400
    assert "Row 2, person: “N. Obody” is not known here." in page
    assert "Row 2, gross: “x” is not an amount" in page
    assert not LedgerEntry.objects.exists()


def test_it_says_where_the_file_is_missing(money, stamp):
    done = exported(stamp=stamp)
    reply = money.post(f"/money/payroll/{done.public_id}/import/", {})
    assert (reply.status_code, "This field is required." in reply.content.decode()) == (400, True)


def test_it_reconciles(money):
    page = shown(money, payroll_pages.period_exported())
    table = page[page.index('id="reconciliation"') :]
    assert [word in table for word in ("$1,328.40", "not in a file", "The ledger has changed since")] == [True] * 3


def test_it_shows_what_changed(money):
    page = shown(money, payroll_pages.period_changes())
    assert "3.33 h" in page[page.index('id="changes"') :]


def test_it_rounds_on_demand(money, stamp):
    build.TimedSpanFactory(work_date=DAY)
    opened = period(stamp=stamp)
    reply = money.post(f"/money/payroll/{opened.public_id}/round/", follow=True)
    assert "1 measured span rounded" in reply.content.decode()


@pytest.mark.parametrize("role", ["coordinator", "crew_lead", "pesticide_supervisor"])
def test_it_opens_to_finance_alone(client, stamp, role):
    done = exported(stamp=stamp)
    client.force_login(build.UserFactory(roles=[role]))
    for ending in ("", f"{done.public_id}/", f"{done.public_id}/payroll.csv", f"{done.public_id}/changes/"):
        assert client.get(f"/money/payroll/{ending}").status_code == 403
    for act in ("round", "import", "export"):
        assert client.post(f"/money/payroll/{done.public_id}/{act}/").status_code == 403
