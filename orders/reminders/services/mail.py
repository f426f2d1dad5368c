"""Handing notices over to the mail server, after the commit and keyed by the row."""

import logging
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db.models import F, Q, QuerySet

from orders.common.models import User
from orders.common.transactions import writing
from orders.reminders.letters import digest_words
from orders.reminders.models import Digest, Notice, ReminderPreference
from orders.reminders.models.notices import USUAL_DIGEST_ABOVE
from orders.reminders.moments import is_quiet
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


@dataclass(frozen=True)
class _Letter:
    """One mail: a notice alone, or a digest of several."""

    row: Notice | Digest
    notices: Sequence[Notice]
    address: str
    subject: str
    body: str


def notices_hand_over(*, clock: Callable[[], datetime]) -> HandedOver:
    """Mail what waits. Never call it inside a transaction: a mail cannot be rolled back.

    Each letter's row is claimed by compare-and-set, mailed, and then marked: of two runs at once one has the claim. A
    run that dies between the mail and the mark leaves a claim that lapses, and the next run mails that one letter
    again: twice rather than never. Both carry the row's own Message-ID, by which a double can be recognized, and its
    `mail_attempts` counts them. A failing mail server leaves the row for the next run. In a person's quiet hours
    nothing is mailed but what says that somebody may be hurt.
    """
    sent = failed = in_a_row = 0
    for letter in _letters(clock()):
        claimed_at = clock()
        if not _claim(letter, claimed_at):
            continue
        if _mail(letter):
            _mark(letter, claimed_at, clock())
            sent, in_a_row = sent + len(letter.notices), 0
        else:
            _give_back(letter, claimed_at)
            failed, in_a_row = failed + len(letter.notices), in_a_row + 1
        if in_a_row == FAILURES_IN_A_ROW:
            break
    return HandedOver(sent=sent, failed=failed)


def _letters(at: datetime) -> list[_Letter]:
    """What is to be mailed now: digests of earlier runs as they were, the rest alone or together."""
    waiting = notices_to_mail(at=at, made_from=at - MAILED_WITHIN, claimed_before=at - CLAIM)
    awake = [notice for notice in waiting if notice.step.bypasses_quiet or not _in_quiet_hours(notice, at)]
    digests: dict[int, list[Notice]] = defaultdict(list)
    by_user: dict[int, list[Notice]] = defaultdict(list)
    for notice in awake:
        if notice.digest_id is not None:
            digests[notice.digest_id].append(notice)
        else:
            by_user[notice.user_id].append(notice)
    letters = [_digest_letter(own[0].digest, own) for own in digests.values() if own[0].digest]
    for own in by_user.values():
        letters += _fresh_letters(own, at)
    return letters


def _fresh_letters(notices: Sequence[Notice], at: datetime) -> list[_Letter]:
    """Of one person: more than a few go in one mail; what may hurt somebody always goes alone."""
    together = [notice for notice in notices if not notice.step.bypasses_quiet]
    alone = [notice for notice in notices if notice.step.bypasses_quiet]
    if len(together) <= _preference(notices[0].user).digest_above:
        return [_letter(notice) for notice in [*alone, *together]]
    digest, taken = _digest_add(together, at)
    return [*map(_letter, alone), *([_digest_letter(digest, taken)] if digest else [])]


def _letter(notice: Notice) -> _Letter:
    return _Letter(notice, [notice], _address(notice), notice.subject, notice.body)


def _digest_letter(digest: Digest, notices: Sequence[Notice]) -> _Letter:
    return _Letter(digest, notices, _address(notices[0]), *digest_words(notices))


def _address(notice: Notice) -> str:
    return str(notice.address)  # type: ignore[attr-defined]  # annotated by the selector


@writing()
def _digest_add(notices: Sequence[Notice], at: datetime) -> tuple[Digest | None, list[Notice]]:
    """The digest and what it carries: whatever another run has not taken meanwhile."""
    free = Q(claimed_at__isnull=True) | Q(claimed_at__lt=at - CLAIM)
    asked = Notice.objects.filter(free, pk__in=[notice.pk for notice in notices], digest__isnull=True)
    keys = set(asked.filter(handed_over_at__isnull=True).order_by().values_list("pk", flat=True))
    if not keys:
        return None, []
    digest = Digest(user=notices[0].user, made_at=at)
    digest.message_id = f"<fencerow.digest.{digest.public_id}@{settings.MESSAGE_ID_DOMAIN}>"
    digest.save(force_insert=True)
    Notice.objects.filter(pk__in=keys).update(digest=digest)
    return digest, [notice for notice in notices if notice.pk in keys]


def _in_quiet_hours(notice: Notice, at: datetime) -> bool:
    chosen = _preference(notice.user)
    zone = chosen.time_zone or notice.deadline.time_zone
    if chosen.quiet_from is None or chosen.quiet_until is None:
        return is_quiet(at, zone, settings.QUIET_FROM, settings.QUIET_UNTIL)
    return is_quiet(at, zone, chosen.quiet_from, chosen.quiet_until)


def _preference(user: User) -> ReminderPreference:
    found = getattr(user, "reminder_preference", None)
    return found or ReminderPreference(user=user, digest_above=USUAL_DIGEST_ABOVE)


def _claim(letter: _Letter, at: datetime) -> bool:
    """The letter's own row decides; the notices of a digest carry the claim too, so that none goes out alone."""
    free = Q(claimed_at__isnull=True) | Q(claimed_at__lt=at - CLAIM)
    taken = {"claimed_at": at, "mail_attempts": F("mail_attempts") + 1}
    if isinstance(letter.row, Notice):
        alone = Notice.objects.filter(free, pk=letter.row.pk, handed_over_at__isnull=True, digest__isnull=True)
        return alone.update(**taken) == 1
    if Digest.objects.filter(free, pk=letter.row.pk, handed_over_at__isnull=True).update(**taken) != 1:
        return False
    _notices(letter).update(**taken)
    return True


def _notices(letter: _Letter) -> QuerySet[Notice]:
    return Notice.objects.filter(pk__in=[notice.pk for notice in letter.notices], handed_over_at__isnull=True)


def _mail(letter: _Letter) -> bool:
    message = EmailMessage(
        subject=letter.subject,
        body=letter.body,
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[letter.address],
        headers={"Message-ID": letter.row.message_id, "Auto-Submitted": "auto-generated"},
        connection=get_connection(timeout=SERVER_SECONDS),
    )
    try:
        message.send()
    except (OSError, ValueError) as error:  # the server (SMTPException is an OSError), or an address it cannot take
        log.warning("Mail %s was not taken: %s", letter.row.public_id, type(error).__name__)
        return False
    return True


def _mark(letter: _Letter, claimed_at: datetime, at: datetime) -> None:
    """The notices of a digest first: a run that dies in between finds the digest empty and leaves it."""
    done = {"handed_over_at": at, "claimed_at": None}
    _notices(letter).filter(claimed_at=claimed_at).update(**done)
    if isinstance(letter.row, Digest):
        Digest.objects.filter(pk=letter.row.pk, claimed_at=claimed_at, handed_over_at__isnull=True).update(**done)


def _give_back(letter: _Letter, claimed_at: datetime) -> None:
    """The server did not take it, so that this try made no double."""
    back = {"claimed_at": None, "mail_attempts": F("mail_attempts") - 1}
    _notices(letter).filter(claimed_at=claimed_at).update(**back)
    if isinstance(letter.row, Digest):
        Digest.objects.filter(pk=letter.row.pk, claimed_at=claimed_at).update(**back)
