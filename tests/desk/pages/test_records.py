"""Records on pages: searched, opened, printed, held."""

import csv
import io

import pytest

from orders.workorders.models import ApplicationRecord, RecordHold
from orders.workorders.records.signing import record_sign
from tests import build
from tests.browser import record_pages
from tests.desk.pages.pdf_text import pdf_text
from tests.workorders.records.uses import SIGNED, signature, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def supervisor(db):
    return build.UserFactory(username="sue", roles=["pesticide_supervisor"])


def shown(client, user, address):
    client.force_login(user)
    reply = client.get(address)
    return reply.status_code, " ".join(reply.content.decode().split())


@pytest.fixture
def listed(client, coordinator):
    address = record_pages.listed()
    return lambda query="": shown(client, coordinator, f"{address}{query}")[1]


def test_it_lists_records_with_their_state_and_term(listed):
    page = listed()
    assert "3 records" in page
    assert (page.count("state-good"), page.count("state-bad")) == (1, 2)
    assert "None owed" not in page
    assert "2 owed or incomplete" in page


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ("?state=complete", 1),
        ("?state=incomplete", 2),
        ("?product=herb", 3),
        ("?work_from=2026-07-03", 0),
        ("?work_from=2026-07-02&work_to=2026-07-02", 3),
        ("?q=teasel", 3),
        ("?q=nobody", 0),
    ],
)
def test_it_finds_records(listed, query, count):
    page = listed(query)
    assert (f"{count} record" in page) if count else ("No record answers this" in page)


def test_it_sorts_by_site(listed):
    page = listed("?sort=site")
    assert page.index("Hollow Preserve</td>") < page.index("Lantern Ridge</td>") < page.index("Oxbow</td>")


def test_it_says_what_to_do_where_there_is_none(client, crew_lead):
    assert "No record yet" in shown(client, crew_lead, "/records/")[1]
    assert "Nothing is owed" in shown(client, crew_lead, "/records/owed/")[1]


def test_it_gives_the_same_rows_as_csv_and_guards_formulas(client, coordinator):
    application = use()
    record_sign(signature=signature(application, signed_by="=1+1"), stamp=build.stamp(at=SIGNED))
    client.force_login(coordinator)
    reply = client.get("/records/records.csv?state=complete")
    (row,) = csv.DictReader(io.StringIO(reply.content.decode()))
    assert (row["work date"], row["signed by"], row["amount"]) == ("2026-07-02", "'=1+1", "Invented herb: 2.7 fl oz")
    assert (row["wind"], row["air temperature"], row["keep until"]) == (
        "5 mph from the W (270°)",
        "71 °F (22 °C)",
        "2029-07-02",
    )


def test_it_shows_a_lead_the_records_of_own_crews_alone(client, crew_lead):
    record = ApplicationRecord.objects.get(public_id=record_pages.record().split("/")[2])
    address = f"/records/{record.public_id}/"
    assert shown(client, crew_lead, address)[0] == 404
    person = build.PersonFactory(user=crew_lead)
    build.CrewMembershipFactory(crew=record.batch.crew, person=person)
    assert shown(client, crew_lead, address)[0] == 200


@pytest.mark.parametrize("address", ["/records/", "/records/owed/", "/records/rules/", "/records/records.csv"])
def test_it_is_no_page_for_finance(client, finance, address):
    assert shown(client, finance, address)[0] == 403


def test_it_tells_what_is_missing_and_late(client, supervisor):
    _, page = shown(client, supervisor, record_pages.record_incomplete())
    assert "2 fields missing" in page
    assert "Signed after the day on which it was due, Jul 2, 2026" in page
    assert page.count("<dd>missing</dd>") == 2


def test_it_shows_revisions_and_the_rule_that_nobody_reviewed(client, coordinator):
    _, page = shown(client, coordinator, record_pages.record())
    assert record_pages.AMENDED in page.replace("&#x27;", "'")
    assert "not reviewed by a licensed person" in page


@pytest.mark.parametrize(
    ("lang", "words"),
    [
        ("", "Pesticide application record"),
        ("?lang=es", "Registro de aplicación de pesticida"),
        ("?lang=xx", "Pesticide"),
    ],
)
def test_it_prints_in_both_languages(client, coordinator, lang, words):
    address = record_pages.record()
    assert words in shown(client, coordinator, f"{address}{lang}")[1]
    reply = client.get(f"{address}record.pdf{lang}")
    text = pdf_text(reply.content)
    assert reply["Content-Type"] == "application/pdf"
    assert words in text
    assert "Ketterline T-360" in text


def test_it_places_and_lifts_a_hold(client, supervisor):
    address = record_pages.record_incomplete()
    client.force_login(supervisor)
    client.post(f"{address}hold/", {"why": "An audit"})
    hold = RecordHold.objects.get()
    assert (hold.why, hold.placed_by) == ("An audit", supervisor)
    client.post(f"{address}holds/{hold.public_id}/lift/", {"why": "Audit closed"})
    hold.refresh_from_db()
    assert hold.lifted_by == supervisor


def test_it_lets_no_lead_hold_a_record(client, crew_lead):
    client.force_login(crew_lead)
    assert client.post(f"{record_pages.record_incomplete()}hold/", {"why": "x"}).status_code == 403


def test_it_lists_what_is_owed_with_the_time_left(client, coordinator):
    _, page = shown(client, coordinator, record_pages.owed())
    assert "3 owed, the first due first" in page
    assert page.index("Hollow Preserve") < page.index("Oxbow") < page.index("Lantern Ridge")
