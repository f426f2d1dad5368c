"""Records by the API: signed, amended, searched, owed, held."""

import csv
import io
from uuid import uuid4

import pytest

from orders.workorders.models import ApplicationRecord
from tests import build
from tests.api.caller import Caller, error_fields
from tests.workorders.records.uses import DAY, VALUES, use

pytestmark = pytest.mark.django_db

LIST = "/api/application-records"


def body(application, **changed):
    where = {name: str(getattr(application, name).public_id) for name in ("batch", "site", "responsible")}
    said = {"work_date": DAY.isoformat(), "values": VALUES, "signed_by": "A. Applicator"}
    return {**where, **said, "signed_at": "2026-07-02T16:40:00-04:00", **changed}


@pytest.fixture
def application():
    return use()


def test_it_signs_a_record_and_says_where_it_is(desk, application):
    reply = desk.send(LIST, body(application))
    shown = reply.json()
    assert reply.status_code == 201, shown
    assert (shown["due_on"], shown["retain_until"], shown["missing"]) == ("2026-07-16", "2029-07-02", [])
    assert (shown["products"], shown["revision"], shown["signed_at"]) == (["herb"], 1, "2026-07-02T20:40:00Z")
    assert desk.get(reply.headers["Location"]).json() == shown


def test_it_names_what_is_missing_and_takes_an_amendment(desk, application):
    first = desk.send(LIST, body(application, values={**VALUES, "requester": ""})).json()
    assert first["missing"] == ["requester"]
    assert desk.send(LIST, body(application)).json()["code"] == "record_signed"
    second = desk.send(LIST, body(application, reason="Asked the owner")).json()
    assert (second["revision"], second["amends"], second["missing"]) == (2, first["id"], [])
    assert [row["id"] for row in desk.rows(LIST)] == [second["id"]]


def test_it_names_what_is_not_known(desk, application):
    reply = desk.send(LIST, body(application, batch=str(uuid4()), responsible=str(uuid4())))
    assert (reply.status_code, error_fields(reply)) == (400, ["batch", "responsible"])


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ("state=complete", 1),
        ("state=incomplete", 1),
        ("state=complete,incomplete", 2),
        ("product=herb", 1),
        ("work_from=2026-07-03", 0),
        ("work_to=2026-07-02&sort=due_on", 2),
    ],
)
def test_it_filters(desk, query, count):
    desk.send(LIST, body(use()))
    other = use(build.MixBatchFactory(work_date=DAY))
    desk.send(LIST, body(other, values={}))
    assert len(desk.rows(f"{LIST}?{query}")) == count


def test_it_tells_what_is_owed(desk, application):
    (owed,) = desk.get(f"{LIST}/owed").json()["owed"]
    assert (owed["state"], owed["due_on"], owed["record"]) == ("owed", "2026-07-16", None)
    desk.send(LIST, body(application))
    assert desk.get(f"{LIST}/owed").json() == {"owed": []}


def test_it_gives_the_table(desk, application):
    desk.send(LIST, body(application))
    assert [row["signed_by"] for row in desk.get(f"{LIST}/table").json()["records"]] == ["A. Applicator"]
    assert error_fields(desk.get(f"{LIST}/table?format=xml")) == ["format"]
    reply = desk.get(f"{LIST}/table?format=csv")
    (row,) = csv.DictReader(io.StringIO(reply.content.decode()))
    assert (reply.headers["Content-Type"].split(";")[0], row["product"]) == ("text/csv", "Invented herb")


def test_it_shows_a_lead_own_crews_records_alone(desk, lead, application):
    made = desk.send(LIST, body(application)).json()
    assert (lead.rows(LIST), lead.get(f"{LIST}/owed").json()) == ([], {"owed": []})
    assert lead.get(f"{LIST}/{made['id']}").status_code == 404
    build.CrewMembershipFactory(crew=application.batch.crew, person=build.PersonFactory(user=lead.user))
    assert [row["id"] for row in lead.rows(LIST)] == [made["id"]]


def test_it_holds_and_lifts(desk, application):
    desk.send(LIST, body(application))
    address = f"{LIST}/{ApplicationRecord.objects.get().public_id}/holds"
    hold = desk.send(address, {"why": "An audit"}).json()
    assert hold["lifted_at"] is None
    lifted = desk.send(f"{address}/{hold['id']}/lift", {"reason": "Audit closed"})
    assert (lifted.status_code, lifted.json()["lifted_by"]["name"]) == (200, "desk")
    assert desk.send(f"{address}/{hold['id']}/lift", {"reason": "Again"}).status_code == 409
    assert [row["id"] for row in desk.get(address).json()["holds"]] == [hold["id"]]


def test_it_lets_no_lead_hold(desk, lead, application):
    made = desk.send(LIST, body(application)).json()
    assert isinstance(lead, Caller)
    assert lead.send(f"{LIST}/{made['id']}/holds", {"why": "x"}).status_code == 403
