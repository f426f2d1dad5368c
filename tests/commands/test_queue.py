"""Commands in the order of their numbers, whatever order they come in."""

from datetime import timedelta
from itertools import permutations

import pytest

from orders.commands.queue import batch_take, command_take, queue_drain
from orders.field.models import Command, Flag
from orders.field.services.commands import Contact
from tests import build
from tests.commands.sender import Sender

pytestmark = pytest.mark.django_db
GAP = timedelta(minutes=15)


def _never():
    return False


def _words(sender, *words):
    return [sender.envelope("word", {"word": word}) for word in words]


@pytest.mark.parametrize("places", list(permutations(range(3))))
def test_it_applies_by_number_whatever_comes_first(sender, contact, words, places):
    sent = _words(sender, "one", "two", "three")
    for place in places:
        batch_take(contact=contact, commands=[sent[place]], is_late=_never)
    assert words() == ["one", "two", "three"]
    assert set(Command.objects.values_list("state", flat=True)) == {"applied"}


def test_it_lets_wait_what_stands_behind_a_gap(sender, contact, words):
    first, second = _words(sender, "one", "two")
    waiting = batch_take(contact=contact, commands=[second], is_late=_never)
    assert [answer["state"] for answer in waiting.answers] == ["waiting"]
    assert words() == []
    batch = batch_take(contact=contact, commands=[first], is_late=_never)
    assert [(answer["id"], answer["state"]) for answer in batch.answers] == [(first["id"], "applied")]
    assert [(answer["id"], answer["state"]) for answer in batch.later] == [(second["id"], "applied")]


def test_it_answers_a_repeat_of_what_waited_as_it_stands_now(sender, contact):
    first, second = _words(sender, "one", "two")
    batch_take(contact=contact, commands=[second], is_late=_never)
    batch = batch_take(contact=contact, commands=[second, first], is_late=_never)
    assert [(answer["seq"], answer["state"]) for answer in batch.answers] == [(1, "applied"), (2, "applied")]
    assert batch.later == []


def test_it_goes_on_without_what_does_not_come(sender, contact, words):
    lost, second, third = _words(sender, "one", "two", "three")
    batch_take(contact=contact, commands=[second, third], is_late=_never)
    before = contact.at + GAP - timedelta(seconds=1)
    assert list(queue_drain(device=sender.device, at=before)) == []
    assert len(list(queue_drain(device=sender.device, at=contact.at + GAP))) == 2
    assert words() == ["two", "three"]
    assert Flag.objects.get().kind == "gap"
    command_take(contact=contact, sent=lost)
    assert words() == ["two", "three", "one"]


def test_it_drops_a_gap_at_the_next_contact(sender, contact, words):
    _, second, third = _words(sender, "one", "two", "three")
    batch_take(contact=contact, commands=[second], is_late=_never)
    later = Contact(sender.device, contact.at + GAP)
    batch = batch_take(contact=later, commands=[third], is_late=_never)
    assert [answer["state"] for answer in batch.answers] == ["applied"]
    assert [answer["seq"] for answer in batch.later] == [2]
    assert words() == ["two", "three"]


def test_it_counts_what_cannot_be_read_as_come(sender, contact, words):
    bad = sender.envelope("dance", {})
    good = sender.envelope("word", {"word": "one"})
    batch_take(contact=contact, commands=[good], is_late=_never)
    batch_take(contact=contact, commands=[bad], is_late=_never)
    assert words() == ["one"]


def test_it_counts_by_tablet(sender, contact, words):
    other = Sender(build.DeviceFactory(users=[sender.user]), sender.user)
    batch_take(contact=Contact(other.device, contact.at), commands=_words(other, "theirs"), is_late=_never)
    batch_take(contact=contact, commands=_words(sender, "ours"), is_late=_never)
    assert words() == ["theirs", "ours"]


def test_it_leaves_the_rest_without_an_answer_where_time_runs_out(sender, contact, words):
    asked = iter([False, False, True, True])
    sent = _words(sender, "one", "two", "three")
    batch = batch_take(contact=contact, commands=sent, is_late=lambda: next(asked))
    assert [answer["seq"] for answer in batch.answers] == [1, 2]
    assert words() == ["one", "two"]
    batch = batch_take(contact=contact, commands=sent, is_late=_never)
    assert [answer["state"] for answer in batch.answers] == ["applied"] * 3
    assert words() == ["one", "two", "three"]
