"""The wake-up that lets a gap time out although the tablet is silent."""

from datetime import timedelta

import pytest
import time_machine

from orders.commands.queue import command_take
from orders.commands.tasks import gaps_look

pytestmark = pytest.mark.django_db


def test_it_applies_what_waited_too_long(sender, contact, words):
    sender.seq = 1
    command_take(contact=contact, sent=sender.envelope("word", {"word": "two"}))
    with time_machine.travel(contact.at + timedelta(minutes=14), tick=False):
        assert gaps_look() == 0
    with time_machine.travel(contact.at + timedelta(minutes=15), tick=False):
        assert gaps_look() == 1
        assert gaps_look() == 0
    assert words() == ["two"]
