"""Quiet hours by the reader's clock, over both nights on which clocks change."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core import mail

from orders.reminders.moments import is_quiet
from orders.reminders.services import HandedOver, notices_hand_over
from tests import build

FROM, UNTIL = time(21), time(8)
NEW_YORK = ZoneInfo("America/New_York")


def local(year, month, day, hour, minute=0, second=0):
    return datetime(year, month, day, hour, minute, second, tzinfo=NEW_YORK).astimezone(UTC)


def quiet(at, quiet_from=FROM, quiet_until=UNTIL, zone="America/New_York"):
    return is_quiet(at, zone, quiet_from, quiet_until)


# The night of either change, with the day before and after: spring 2027, fall 2026; and a plain night.
@pytest.mark.parametrize("evening", [(2027, 3, 13), (2026, 10, 31), (2027, 8, 3)])
def test_it_holds_from_nine_and_releases_at_eight_by_the_clock(evening):
    year, month, day = evening
    morning = (date(*evening) + timedelta(days=1)).timetuple()[:3]
    assert not quiet(local(year, month, day, 20, 59, 59))
    assert quiet(local(year, month, day, 21, 0, 0))
    assert quiet(local(*morning, 7, 59, 59))
    assert not quiet(local(*morning, 8, 0, 0))


@pytest.mark.parametrize(("evening", "hours"), [((2027, 3, 13), 10), ((2026, 10, 31), 12), ((2027, 8, 3), 11)])
def test_it_is_quiet_for_as_many_hours_as_the_night_has(evening, hours):
    start = local(evening[0], evening[1], evening[2], 12)
    minutes = sum(quiet(start + timedelta(minutes=n)) for n in range(24 * 60))
    assert minutes == hours * 60


def test_it_reads_hours_within_one_day_and_none_where_both_ends_are_the_same():
    noon = local(2027, 8, 3, 12, 30)
    assert quiet(noon, time(12), time(13))
    assert not quiet(noon, time(13), time(14))
    assert not quiet(noon, time(8), time(8))


def hand_over(at):
    return notices_hand_over(clock=lambda: at)


@pytest.fixture
def notice(db):
    patch = build.PatchFactory(site__time_zone="America/New_York")
    return build.NoticeFactory(deadline__patch=patch, made_at=local(2027, 8, 3, 20))


def test_it_mails_until_nine_and_again_from_eight(notice):
    assert hand_over(local(2027, 8, 3, 21)) == HandedOver()
    assert hand_over(local(2027, 8, 4, 7, 59, 59)) == HandedOver()
    assert hand_over(local(2027, 8, 4, 8)) == HandedOver(sent=1)


def test_it_mails_a_second_before_nine(notice):
    assert hand_over(local(2027, 8, 3, 20, 59, 59)) == HandedOver(sent=1)


def test_it_goes_by_the_readers_own_clock_and_hours_where_they_are_chosen(notice):
    build.ReminderPreferenceFactory(
        user=notice.user, time_zone="America/Chicago", quiet_from=time(22), quiet_until=time(6)
    )
    assert hand_over(local(2027, 8, 3, 23)) == HandedOver()  # 22:00 in Chicago
    assert hand_over(local(2027, 8, 3, 22, 59, 59)) == HandedOver(sent=1)


def test_it_mails_at_once_what_may_hurt_somebody(notice):
    notice.step.bypasses_quiet = True
    notice.step.save()
    assert hand_over(local(2027, 8, 3, 23)) == HandedOver(sent=1)
    assert len(mail.outbox) == 1
