"""A crew that is not back: the desk is told once for the hour that it named, whatever is looked at twice."""

from datetime import timedelta

import pytest
from django.core import mail

from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.field.models import Flag, OverdueAlert
from orders.field.services.overdue import Watched, overdue_take, overdue_watch
from tests import build

pytestmark = pytest.mark.django_db
DUE = build.WORKED_AT + timedelta(hours=3)
LATE = DUE + timedelta(minutes=31)


@pytest.fixture(autouse=True)
def office(settings, tmp_path):
    settings.CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache", "LOCATION": "overdue"}}
    return build.UserFactory(username="cora", roles=["coordinator"])


@pytest.fixture
def out():
    site = build.SiteFactory(name="Hollow Run", time_zone="America/New_York", radio_or_phone="Phone from the ridge")
    return build.CheckInFactory(
        site=site, back_by=DUE, phone="555-0100", people=[build.PersonFactory(name="R. Teasel")]
    )


def look(at=LATE):
    return overdue_watch(at=at, clock=lambda: at)


def test_it_says_nothing_while_the_grace_runs(out):
    assert look(DUE + timedelta(minutes=29)) == Watched(0, 0, 0)
    assert mail.outbox == []


def test_it_waits_as_long_as_the_policy_says(out):
    build.FieldPolicyFactory._meta.model.objects.all().delete()
    build.FieldPolicyFactory(overdue_after_minutes=60)
    assert look().raised == 0
    assert look(DUE + timedelta(minutes=61)).raised == 1


def test_it_raises_an_alert_a_flag_and_a_mail(out, office):
    assert look() == Watched(raised=1, ended=0, mailed=1)
    flag = Flag.objects.get()
    assert (flag.severity, flag.crew, flag.site) == ("urgent", out.crew, out.site)
    (letter,) = mail.outbox
    assert letter.to == [office.email]
    assert letter.extra_headers["Message-ID"].startswith(f"<fencerow.overdue.{OverdueAlert.objects.get().public_id}@")
    assert [
        word
        for word in ("R. Teasel", "555-0100", "Hollow Run", "18:00", "Phone from the ridge")
        if word not in letter.body
    ] == []


def test_it_tells_once(out):
    look()
    assert look(LATE + timedelta(minutes=1)) == Watched(0, 0, 0)
    assert (OverdueAlert.objects.count(), Flag.objects.count(), len(mail.outbox)) == (1, 1, 1)


def test_it_mails_at_night_too(settings, out):
    settings.QUIET_FROM = settings.QUIET_UNTIL = LATE.time()
    assert look().mailed == 1


def test_it_tries_again_where_the_server_took_nothing(settings, out):
    settings.EMAIL_BACKEND = "tests.field.test_overdue.Broken"
    assert look() == Watched(raised=1, ended=0, mailed=0)
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert look() == Watched(raised=0, ended=0, mailed=1)


class Broken:
    def __init__(self, **more):
        pass

    def send_messages(self, messages):
        raise OSError("down")


def test_it_raises_again_for_a_later_hour(out):
    look()
    build.CheckInStepFactory(check_in=out, kind="longer", at=LATE, back_by=LATE + timedelta(hours=1))
    assert look(LATE + timedelta(minutes=1)) == Watched(raised=0, ended=1, mailed=0)
    assert look(LATE + timedelta(minutes=92)).raised == 1
    assert [flag.state for flag in Flag.objects.order_by("id")] == ["settled", "open"]


@pytest.mark.parametrize("kind", ["out", "found"])
def test_it_ends_when_they_are_out_or_found(out, kind):
    look()
    build.CheckInStepFactory(check_in=out, kind=kind, at=LATE)
    assert look(LATE + timedelta(minutes=1)) == Watched(raised=0, ended=1, mailed=0)
    assert Flag.objects.get().resolution == "ended"


def test_it_tells_nothing_of_who_came_back_in_time(out):
    build.CheckInStepFactory(check_in=out, kind="out")
    assert look() == Watched(0, 0, 0)


def test_it_is_taken_in_hand_by_one_person(out, office):
    look()
    alert, stamp = OverdueAlert.objects.get(), Stamp(by=office, at=LATE)
    overdue_take(alert=alert, stamp=stamp)
    assert OverdueAlert.objects.get().taken_by == office
    with pytest.raises(WrongState, match="already"):
        overdue_take(alert=alert, stamp=stamp)
