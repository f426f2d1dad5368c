"""More than a few notices at once come in one mail; each row is handed over with it, once."""

from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail

from orders.reminders.models import Digest, Notice
from orders.reminders.services import HandedOver, notices_hand_over
from orders.reminders.services import mail as handing_over
from tests import build

pytestmark = pytest.mark.django_db

MADE = datetime(2027, 8, 4, 15, tzinfo=UTC)


def hand_over(at=MADE):
    return notices_hand_over(clock=lambda: at)


@pytest.fixture
def reader():
    return build.UserFactory(roles=["coordinator"])


def notices(reader, count, **facts):
    return build.NoticeFactory.create_batch(count, user=reader, made_at=MADE, **facts)


@pytest.mark.parametrize(("count", "mails"), [(5, 5), (6, 1)])
def test_it_is_one_mail_above_five(reader, count, mails):
    notices(reader, count)
    assert hand_over() == HandedOver(sent=count)
    assert len(mail.outbox) == mails


def test_it_names_each_notice(reader):
    rows = [notices(reader, 1, subject=f"Deadline {n}")[0] for n in range(6)]
    hand_over()
    sent = mail.outbox[0]
    assert sent.subject == "6 reminders"
    assert all(f"- {row.subject}\n  {row.step.text}" in sent.body for row in rows)


def test_it_hands_each_row_over_once_under_the_digests_own_message_id(reader):
    notices(reader, 6)
    hand_over()
    assert hand_over(MADE + timedelta(hours=1)) == HandedOver()
    digest = Digest.objects.get()
    assert mail.outbox[0].extra_headers["Message-ID"] == digest.message_id
    rows = Notice.objects.values_list("digest", "handed_over_at", "mail_attempts")
    assert set(rows) == {(digest.pk, MADE, 1)}
    assert (digest.handed_over_at, digest.mail_attempts) == (MADE, 1)


def test_it_is_of_one_person(reader):
    notices(reader, 4)
    notices(build.UserFactory(), 4)
    assert hand_over() == HandedOver(sent=8)
    assert len(mail.outbox) == 8


def test_it_follows_what_a_person_chose(reader):
    build.ReminderPreferenceFactory(user=reader, digest_above=1)
    notices(reader, 2)
    hand_over()
    assert len(mail.outbox) == 1


def test_it_leaves_out_what_may_hurt_somebody_which_goes_alone(reader):
    notices(reader, 6)
    notices(reader, 1, step__bypasses_quiet=True, subject="Heat")
    hand_over()
    assert sorted(message.subject for message in mail.outbox) == ["6 reminders", "Heat"]


def test_it_mails_the_same_digest_again_after_a_run_that_died_before_its_mark(reader, monkeypatch):
    def die(*_):
        raise KeyboardInterrupt

    notices(reader, 6)
    monkeypatch.setattr(handing_over, "_mark", die)
    with pytest.raises(KeyboardInterrupt):
        hand_over()
    monkeypatch.undo()
    notices(reader, 1, subject="Later")
    assert hand_over(MADE + timedelta(minutes=5)) == HandedOver(sent=1)  # the digest's claim still holds
    assert hand_over(MADE + timedelta(minutes=11)) == HandedOver(sent=6)
    first, later, again = (message.extra_headers["Message-ID"] for message in mail.outbox)
    assert first == again != later
    assert Digest.objects.get().mail_attempts == 2


def test_it_is_not_counted_as_a_double_when_the_server_did_not_take_it(reader, monkeypatch):
    notices(reader, 6)
    monkeypatch.setattr(handing_over, "_mail", lambda letter: False)
    assert hand_over() == HandedOver(failed=6)
    monkeypatch.undo()
    assert hand_over(MADE + timedelta(minutes=5)) == HandedOver(sent=6)
    assert (Digest.objects.get().mail_attempts, set(Notice.objects.values_list("mail_attempts"))) == (1, {(1,)})


def test_it_takes_nothing_that_another_run_took_meanwhile(reader, monkeypatch):
    """The second run begins after the first has looked, and before it has written its digest."""
    notices(reader, 6)
    add, inner = handing_over._digest_add, []

    def late(rows, at):
        monkeypatch.setattr(handing_over, "_digest_add", add)
        inner.append(hand_over())
        return add(rows, at)

    monkeypatch.setattr(handing_over, "_digest_add", late)
    assert [hand_over(), *inner] == [HandedOver(), HandedOver(sent=6)]
    assert len(mail.outbox) == 1
