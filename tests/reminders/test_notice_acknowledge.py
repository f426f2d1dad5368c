"""The reader says that it was read."""

from datetime import timedelta

import pytest

from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.reminders.models import Deadline, Notice
from orders.reminders.services import NotAddressed, notice_acknowledge
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def notice():
    return build.NoticeFactory()


def test_it_marks_the_notice_and_nothing_else(notice, moment):
    other = build.NoticeFactory(deadline=notice.deadline, user=notice.user)
    notice_acknowledge(notice=notice, stamp=Stamp(by=notice.user, at=moment))
    assert list(Notice.objects.filter(acknowledged_at=moment)) == [notice]
    assert Notice.objects.get(pk=other.pk).acknowledged_at is None
    assert Deadline.objects.get().state == "open"


def test_it_keeps_the_first_moment_when_it_is_said_twice(notice, moment):
    notice_acknowledge(notice=notice, stamp=Stamp(by=notice.user, at=moment))
    again = notice_acknowledge(notice=notice, stamp=Stamp(by=notice.user, at=moment + timedelta(hours=1)))
    assert again.acknowledged_at == moment
    assert Change.objects.filter(verb="notice_acknowledge").count() == 1


def test_it_is_refused_to_anybody_but_its_reader(notice, moment, coordinator):
    for actor in (coordinator, None):
        with pytest.raises(NotAddressed):
            notice_acknowledge(notice=notice, stamp=Stamp(by=actor, at=moment))
    assert Notice.objects.get().acknowledged_at is None
