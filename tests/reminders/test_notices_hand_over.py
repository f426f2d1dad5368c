"""Mail goes out once, after the row, and a row that could not be mailed waits."""

from datetime import UTC, datetime, timedelta
from smtplib import SMTPServerDisconnected

import pytest
from django.core import mail
from django.core.mail import EmailMessage

from orders.reminders.models import Deadline, Notice
from orders.reminders.services import HandedOver, notices_hand_over
from orders.reminders.services import mail as handing_over
from tests import build

pytestmark = pytest.mark.django_db

MADE = datetime(2027, 8, 4, 12, tzinfo=UTC)
SOON = MADE + timedelta(minutes=1)


def notice(**facts):
    return build.NoticeFactory(**{"made_at": MADE, **facts})


def hand_over(at=SOON):
    return notices_hand_over(clock=lambda: at)


@pytest.fixture
def broken_server(monkeypatch):
    """Refuses whatever it is given; returns what it was asked to take."""
    asked = []

    def send(message, fail_silently=False):
        asked.append(message.to[0])
        raise SMTPServerDisconnected("Connection unexpectedly closed")

    monkeypatch.setattr(EmailMessage, "send", send)
    return asked


def test_it_mails_the_row_with_its_own_message_id(settings):
    settings.DEFAULT_FROM_EMAIL = "fencerow@example.org"
    row = notice(message_id="<one@fencerow.invalid>", subject="Cut before fruit", body="Two weeks left.")
    assert hand_over() == HandedOver(sent=1)
    sent = mail.outbox[0].message()
    assert [sent["Message-ID"], sent["Subject"], sent["From"], sent["To"], sent.get_payload()] == [
        "<one@fencerow.invalid>",
        "Cut before fruit",
        "fencerow@example.org",
        row.user.email,
        "Two weeks left.",
    ]


def test_it_marks_the_row_and_does_not_mail_it_again():
    notice()
    hand_over()
    assert hand_over(SOON + timedelta(hours=1)) == HandedOver()
    assert (len(mail.outbox), Notice.objects.get().handed_over_at) == (1, SOON)


def test_it_keeps_the_row_in_the_list_of_a_person_without_an_address():
    row = notice(user__email="")
    assert hand_over() == HandedOver()
    assert row.user.notices.get() == row


def test_it_takes_the_address_from_the_crews_records_where_the_user_has_none():
    row = notice(user__email="")
    build.PersonFactory(user=row.user, email="lead@example.org")
    hand_over()
    assert mail.outbox[0].to == ["lead@example.org"]


def test_it_leaves_the_row_for_the_next_run_when_the_mail_server_fails(broken_server, monkeypatch):
    notice()
    assert hand_over() == HandedOver(failed=1)
    monkeypatch.undo()
    assert hand_over(SOON + timedelta(minutes=5)) == HandedOver(sent=1)


def test_it_leaves_a_server_in_peace_that_fails_three_times_in_a_row(broken_server):
    for _ in range(5):
        notice()
    assert hand_over() == HandedOver(failed=3)
    assert len(broken_server) == 3


def test_it_goes_on_past_one_address_that_cannot_be_used():
    notice(user__email="two\nlines@example.org")
    good = notice()
    assert hand_over() == HandedOver(sent=1, failed=1)
    assert mail.outbox[0].to == [good.user.email]


def test_it_mails_once_when_two_runs_meet(monkeypatch):
    """The second run begins while the first is in the middle of its mail."""
    for _ in range(2):
        notice()
    send, inner = EmailMessage.send, []

    def slow_send(message, fail_silently=False):
        monkeypatch.setattr(EmailMessage, "send", send)
        inner.append(hand_over())
        return message.send()

    monkeypatch.setattr(EmailMessage, "send", slow_send)
    assert [hand_over(), *inner] == [HandedOver(sent=1), HandedOver(sent=1)]
    assert len({message.to[0] for message in mail.outbox}) == len(mail.outbox) == 2


def test_it_mails_again_under_the_same_message_id_after_a_run_that_died_before_its_mark(monkeypatch):
    def die(*_):
        raise KeyboardInterrupt

    notice()
    monkeypatch.setattr(handing_over, "_mark", die)
    with pytest.raises(KeyboardInterrupt):
        hand_over()
    monkeypatch.undo()
    assert hand_over(SOON + timedelta(minutes=10)) == HandedOver()  # its claim still holds
    assert hand_over(SOON + timedelta(minutes=11)) == HandedOver(sent=1)
    first, second = mail.outbox
    assert first.message()["Message-ID"] == second.message()["Message-ID"]


def test_it_mails_only_the_newest_when_several_wait_for_one_person():
    older = notice()
    newer = notice(deadline=older.deadline, user=older.user, subject="One week left")
    assert hand_over() == HandedOver(sent=1)
    assert mail.outbox[0].subject == newer.subject


@pytest.mark.parametrize("facts", [{"state": "met"}, {"state": "ended"}, {"done_on": MADE}])
def test_it_mails_nothing_about_a_deadline_that_is_settled_by_now(facts):
    notice()
    Deadline.objects.update(**facts)
    assert hand_over() == HandedOver()


def test_it_mails_nothing_that_was_read_already():
    notice(acknowledged_at=MADE)
    assert hand_over() == HandedOver()


def test_it_mails_nobody_who_may_not_log_in_any_more():
    notice(user__is_active=False)
    assert hand_over() == HandedOver()


def test_it_gives_up_after_a_week():
    notice()
    assert hand_over(MADE + timedelta(days=7, seconds=1)) == HandedOver()
    assert hand_over(MADE + timedelta(days=7)) == HandedOver(sent=1)
