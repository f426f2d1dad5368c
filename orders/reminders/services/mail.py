"""Handing notices over to the mail server, after the commit and keyed by the row."""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db.models import Q

from orders.reminders.models import Notice
from orders.reminders.selectors import notices_to_mail

log = logging.getLogger("fencerow.reminders")

# Tunable, our own choice: a claim outlives a slow mail server; a notice that could not be mailed in a week stays in its
# reader's list alone; a server that fails three times in a row is left in peace until the next run.
CLAIM = timedelta(minutes=10)
MAILED_WITHIN = timedelta(days=7)
FAILURES_IN_A_ROW = 3
SERVER_SECONDS = 20


@dataclass(frozen=True)
class HandedOver:
    """How many notices the mail server took in this run, and how many it did not."""

    sent: int = 0
    failed: int = 0


def notices_hand_over(*, clock: Callable[[], datetime]) -> HandedOver:
    """Mail what waits. Never call it inside a transaction: a mail cannot be rolled back.

    Each row is claimed by compare-and-set, mailed, and then marked: of two runs at once one has the claim. A run that
    dies between the mail and the mark leaves a claim that lapses, and the next run mails that one notice again: twice
    rather than never. Both carry the row's own Message-ID, by which a double can be recognized. A failing mail server
    leaves the row for the next run.
    """
    sent = failed = in_a_row = 0
    at = clock()
    for notice in list(notices_to_mail(made_from=at - MAILED_WITHIN, claimed_before=at - CLAIM)):
        claimed_at = clock()
        if not _claim(notice, claimed_at):
            continue
        if _mail(notice):
            _mark(notice, claimed_at, clock())
            sent, in_a_row = sent + 1, 0
        else:
            _give_back(notice, claimed_at)
            failed, in_a_row = failed + 1, in_a_row + 1
        if in_a_row == FAILURES_IN_A_ROW:
            break
    return HandedOver(sent=sent, failed=failed)


def _claim(notice: Notice, at: datetime) -> bool:
    free = Q(claimed_at__isnull=True) | Q(claimed_at__lt=at - CLAIM)
    return Notice.objects.filter(free, pk=notice.pk, handed_over_at__isnull=True).update(claimed_at=at) == 1


def _mail(notice: Notice) -> bool:
    message = EmailMessage(
        subject=notice.subject,
        body=notice.body,
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[notice.address],  # type: ignore[attr-defined]  # annotated by the selector
        headers={"Message-ID": notice.message_id, "Auto-Submitted": "auto-generated"},
        connection=get_connection(timeout=SERVER_SECONDS),
    )
    try:
        message.send()
    except (OSError, ValueError) as error:  # the server (SMTPException is an OSError), or an address it cannot take
        log.warning("Notice %s was not mailed: %s", notice.public_id, type(error).__name__)
        return False
    return True


def _mark(notice: Notice, claimed_at: datetime, at: datetime) -> None:
    held = Notice.objects.filter(pk=notice.pk, claimed_at=claimed_at, handed_over_at__isnull=True)
    held.update(handed_over_at=at, claimed_at=None)


def _give_back(notice: Notice, claimed_at: datetime) -> None:
    Notice.objects.filter(pk=notice.pk, claimed_at=claimed_at).update(claimed_at=None)
