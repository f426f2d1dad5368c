"""A record that was signed on a tablet: signed once, amended with a reason, held where it conflicts."""

from uuid import uuid4

import pytest

from orders.bodies.records import ApplicationRecordIn
from orders.commands.heard import KINDS, Heard
from orders.commands.records import application_record_heard
from orders.common.errors import Invalid
from orders.workorders.models import ApplicationRecord
from orders.workorders.records.signing import RecordSigned
from tests import build
from tests.workorders.records.uses import SIGNED, VALUES, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def application():
    return use()


def told(application, **changed):
    where = {name: str(getattr(application, name).public_id) for name in ("batch", "site", "responsible")}
    said = {"id": str(uuid4()), "work_date": "2026-07-02", "values": VALUES, "signed_by": "A. Applicator"}
    return {**where, **said, **changed}


def hear(body):
    checked = ApplicationRecordIn(data=body)
    checked.is_valid(raise_exception=True)
    command = build.CommandFactory(kind="application-record", received_at=SIGNED)
    application_record_heard(Heard(command, command.user, None, SIGNED, dict(checked.validated_data)))


def test_it_signs_the_record_as_it_was_signed(application):
    body = told(application)
    hear(body)
    row = ApplicationRecord.objects.get()
    assert (str(row.public_id), row.at, row.values["fields"]) == (body["id"], SIGNED, VALUES)


def test_it_adds_no_second_row_when_it_is_heard_again(application):
    body = told(application)
    hear(body)
    hear(body)
    assert ApplicationRecord.objects.count() == 1


def test_it_amends_with_a_reason(application):
    hear(told(application, values={}))
    hear(told(application, reason="The rest of it"))
    first, second = ApplicationRecord.objects.order_by("revision")
    assert (second.amends, second.reason, second.missing) == (first, "The rest of it", [])


def test_it_adds_no_second_amendment_when_it_is_heard_again(application):
    hear(told(application, values={}))
    body = told(application, reason="The rest of it")
    hear(body)
    hear(body)
    assert ApplicationRecord.objects.count() == 2


def test_it_holds_a_second_first_signature(application):
    hear(told(application))
    with pytest.raises(RecordSigned):
        hear(told(application))


def test_it_holds_what_names_strange_things(application):
    with pytest.raises(Invalid) as refusal:
        hear(told(application, batch=str(uuid4()), site=str(uuid4())))
    assert [error.field for error in refusal.value.errors] == ["batch", "site"]


@pytest.mark.parametrize(
    "values",
    [
        {"wishes": "1"},
        {"location": "x" * 401},
        {"wind": {"a": {"b": {"c": 1}}}},
        {"location": "\ud800"},
        {"product": {"\0": "x"}},
        [],
    ],
)
def test_it_reads_only_what_a_record_may_hold(application, values):
    assert not ApplicationRecordIn(data=told(application, values=values)).is_valid()


def test_it_is_a_kind_of_command_without_an_order():
    assert (KINDS["application-record"].handler, KINDS["application-record"].needs_order) == (
        application_record_heard,
        False,
    )
