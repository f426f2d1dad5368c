"""Putting a notice off: it moves, and does not fall away."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core import mail

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.reminders.models import Notice
from orders.reminders.selectors import notices_open
from orders.reminders.services import (
    HandedOver,
    NotAddressed,
    notice_acknowledge,
    notice_snooze,
    notices_hand_over,
)
from tests import build

pytestmark = pytest.mark.django_db

AT = datetime(2027, 8, 4, 15, tzinfo=UTC)
UNTIL = AT + timedelta(days=3)


@pytest.fixture
def notice():
    return build.NoticeFactory(made_at=AT - timedelta(hours=1))


def snooze(notice, until=UNTIL, at=AT):
    return notice_snooze(notice=notice, until=until, stamp=Stamp(by=notice.user, at=at))


def hand_over(at):
    return notices_hand_over(clock=lambda: at)


def is_open(at):
    return notices_open(Notice.objects.all(), at=at).exists()


def test_it_is_closed_until_its_moment_and_open_from_then_on(notice):
    snooze(notice)
    assert [is_open(at) for at in (AT, UNTIL - timedelta(seconds=1), UNTIL)] == [False, False, True]


def test_it_is_mailed_again_then_under_a_message_id_of_its_own(notice):
    hand_over(AT)
    snooze(notice)
    assert hand_over(UNTIL - timedelta(seconds=1)) == HandedOver()
    assert hand_over(UNTIL) == HandedOver(sent=1)
    first, again = (message.extra_headers["Message-ID"] for message in mail.outbox)
    assert first != again
    assert ".again1@" in again


def test_it_holds_back_a_mail_that_has_not_gone_out(notice):
    snooze(notice)
    assert hand_over(AT + timedelta(hours=1)) == HandedOver()
    assert hand_over(UNTIL) == HandedOver(sent=1)


def test_it_does_not_hold_back_the_next_step(notice):
    snooze(notice)
    build.NoticeFactory(deadline=notice.deadline, user=notice.user, made_at=AT + timedelta(days=1), subject="Next")
    assert hand_over(AT + timedelta(days=1)) == HandedOver(sent=1)
    assert mail.outbox[0].subject == "Next"


def test_it_may_be_put_off_again(notice):
    snooze(notice)
    snooze(notice, UNTIL + timedelta(days=1), UNTIL)
    assert Notice.objects.get().snoozes == 2
    assert hand_over(UNTIL + timedelta(days=1)) == HandedOver(sent=1)


@pytest.mark.parametrize("until", [AT, AT - timedelta(days=1), AT + timedelta(days=14, seconds=1)])
def test_it_goes_neither_back_nor_further_than_two_weeks(notice, until):
    with pytest.raises(Invalid, match="cannot be put off"):
        snooze(notice, until)
    assert Notice.objects.get().snoozed_until is None


@pytest.mark.parametrize(
    ("until", "refused"),
    [
        (datetime(2027, 8, 6, 3, 59, 59, tzinfo=UTC), False),  # 23:59:59 on August 5 in New York
        (datetime(2027, 8, 6, 4, 0, 0, tzinfo=UTC), True),
    ],
)
def test_it_never_goes_past_a_due_day_that_a_rule_sets(until, refused):
    site = build.SiteFactory(time_zone="America/New_York")
    owed = build.DeadlineFactory(plain=True, kind="record", site=site, due_on=date(2027, 8, 5))
    notice = build.NoticeFactory(deadline=owed)
    if refused:
        with pytest.raises(Invalid) as said:
            snooze(notice, until)
        assert "a rule sets it" in said.value.errors[0].message
    else:
        assert snooze(notice, until).snoozed_until == until


def test_it_may_go_past_a_due_day_that_the_program_sets(notice):
    assert snooze(notice, AT + timedelta(days=14)).snoozed_until


def test_it_is_refused_to_anybody_but_its_reader(notice, coordinator):
    with pytest.raises(NotAddressed):
        notice_snooze(notice=notice, until=UNTIL, stamp=Stamp(by=coordinator, at=AT))


def test_it_is_refused_once_it_is_acknowledged(notice):
    notice_acknowledge(notice=notice, stamp=Stamp(by=notice.user, at=AT))
    with pytest.raises(WrongState):
        snooze(notice)


def test_it_is_recorded(notice):
    snooze(notice)
    change = Change.objects.get(verb="notice_snooze")
    assert (change.actor, change.after) == (notice.user, {"snoozed_until": UNTIL.isoformat()})
