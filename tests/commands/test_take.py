"""One command as the server takes it: applied once, held, or kept unread."""

from uuid import uuid4

import pytest

from orders.commands.envelope import SCHEMA, UPGRADES
from orders.commands.queue import command_take
from orders.field.models import Command, Flag
from tests import build

pytestmark = pytest.mark.django_db


def _kept():
    return Command.objects.get()


def test_it_applies_a_command_and_keeps_what_was_sent(sender, contact, words):
    sent = sender.envelope("word", {"word": "one"})
    answer = command_take(contact=contact, sent=sent)
    told = {"state": "applied", "code": "", "message": "", "errors": [], "flags": []}
    assert answer == {"id": sent["id"], "seq": 1, **told}
    assert words() == ["one"]
    kept = _kept()
    assert (str(kept.public_id), kept.kind, kept.user, kept.state) == (sent["id"], "word", sender.user, "applied")
    assert '"word":"one"' in kept.raw
    assert kept.happened_at.isoformat() == sent["happened_at"]


def test_it_gives_a_repeat_the_same_answer_and_does_nothing(sender, contact, words):
    sent = sender.envelope("word", {"word": "no"})
    first = command_take(contact=contact, sent=sent)
    again = command_take(contact=contact, sent=dict(reversed(list(sent.items()))))
    assert first == again
    assert first["state"] == "held"
    assert Command.objects.count() == Flag.objects.count() == 1


def test_it_holds_what_is_refused_and_leaves_no_half_of_it(sender, contact, words):
    answer = command_take(contact=contact, sent=sender.envelope("word", {"word": "no-half"}))
    assert (answer["state"], answer["code"], answer["message"]) == ("held", "wrong_state", "It cannot be said.")
    assert answer["errors"] == [{"field": "word", "code": "invalid", "message": "is refused"}]
    assert answer["flags"] == ["It cannot be said."]
    assert words() == []
    flag = Flag.objects.get()
    assert (flag.severity, flag.command, flag.data["state"], flag.data["code"]) == (
        "settle",
        _kept(),
        "shy",
        "wrong_state",
    )


def test_it_keeps_what_a_fault_of_ours_could_not_take(sender, contact, words, caplog):
    answer = command_take(contact=contact, sent=sender.envelope("word", {"word": "bug"}))
    assert (answer["state"], answer["code"]) == ("held", "server_error")
    assert words() == []
    assert "ZeroDivisionError" in caplog.text
    assert sorted(Flag.objects.get().for_roles) == ["administrator", "coordinator"]


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"kind": "dance"}, "kind_unknown"),
        ({"body": {"word": 3}}, "invalid"),
        ({"body": {"word": "a", "other": 1}}, "invalid"),
        ({"body": None}, "invalid"),
        ({"happened_at": "yesterday"}, "invalid"),
        ({"user": "nobody"}, "invalid"),
        ({"seq": "1"}, "invalid"),
        ({"seq": True}, "invalid"),
        ({"id": 7}, "invalid"),
        ({"schema": SCHEMA + 1}, "schema_unknown"),
        ({"schema": None}, "schema_unknown"),
        ({"kind": "wo\0rd"}, "invalid"),
        ({"app_version": "\0"}, "invalid"),
        ({"kind": "order-word"}, "order_missing"),
    ],
)
def test_it_keeps_what_it_cannot_read(sender, contact, words, changed, code):
    sent = {**sender.envelope("word", {"word": "one"}), **changed}
    answer = command_take(contact=contact, sent=sent)
    assert (answer["state"], answer["code"]) == ("unreadable", code)
    assert words() == []
    assert Flag.objects.get().kind == "unreadable"
    assert command_take(contact=contact, sent=sent) == answer
    assert Command.objects.count() == 1


@pytest.mark.parametrize("sent", [None, 3, "text", [], {}])
def test_it_keeps_what_is_no_envelope_at_all(sender, contact, sent):
    answer = command_take(contact=contact, sent=sent)
    assert (answer["state"], answer["id"], answer["seq"]) == ("unreadable", "", 0)
    assert command_take(contact=contact, sent=sent) == answer
    assert Command.objects.count() == 1


def test_it_keeps_other_content_under_the_same_id(sender, contact, words):
    sent = sender.envelope("word", {"word": "one"})
    command_take(contact=contact, sent=sent)
    other = {**sent, "body": {"word": "two"}}
    answer = command_take(contact=contact, sent=other)
    assert (answer["id"], answer["state"], answer["code"]) == (sent["id"], "unreadable", "other_content")
    assert command_take(contact=contact, sent=other) == answer
    assert command_take(contact=contact, sent=sent)["state"] == "applied"
    assert words() == ["one"]
    assert [command.state for command in Command.objects.order_by("id")] == ["applied", "unreadable"]


def test_it_upgrades_what_an_older_app_wrote(sender, contact, words, monkeypatch):
    def step(sent):
        return {**sent, "schema": 1, "body": {"word": sent["body"]["said"]}}

    monkeypatch.setitem(UPGRADES, 0, step)
    answer = command_take(contact=contact, sent=sender.envelope("word", {"said": "old"}, schema=0))
    assert answer["state"] == "applied"
    assert words() == ["old"]
    assert '"said":"old"' in _kept().raw


def test_it_holds_what_somebody_sends_who_is_not_on_the_tablet(sender, contact, words):
    stranger = build.UserFactory(roles=["crew_lead"])
    for user in (stranger.public_id, uuid4()):
        answer = command_take(contact=contact, sent=sender.envelope("word", {"word": "one"}, user=str(user)))
        assert (answer["state"], answer["code"]) == ("held", "user_not_on_tablet")
    assert words() == []


def test_it_takes_what_was_done_before_its_person_was_taken_off(sender, contact, words):
    sender.device.device_users.update(removed_at=contact.at)
    answer = command_take(contact=contact, sent=sender.envelope("word", {"word": "before"}))
    late = sender.envelope("word", {"word": "after"}, happened_at="2027-02-02T09:00:00Z")
    assert answer["state"] == "applied"
    assert command_take(contact=contact, sent=late)["code"] == "user_not_on_tablet"
    assert words() == ["before"]


def test_it_holds_what_a_user_sends_who_may_not_log_in_any_more(sender, contact):
    sender.user.is_active = False
    sender.user.save()
    answer = command_take(contact=contact, sent=sender.envelope("word", {"word": "one"}))
    assert answer["code"] == "user_not_on_tablet"


def test_it_holds_what_names_an_order_that_is_not_here(sender, contact):
    answer = command_take(contact=contact, sent=sender.envelope("word", {"word": "one"}, order=str(uuid4())))
    assert (answer["state"], answer["code"]) == ("held", "order_unknown")


def test_it_tells_the_flags_that_the_command_raised(sender, contact):
    order = build.WorkOrderFactory(state="issued")
    sent = sender.envelope("order-word", {"word": "no-way"}, order=str(order.public_id))
    command_take(contact=contact, sent=sent)
    flag = Flag.objects.get()
    assert (flag.order, flag.site, flag.crew) == (order, order.site, order.crew)
