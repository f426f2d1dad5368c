"""Reports that are mailed: after the file is done and committed, each mail once, keyed by its row."""

import logging
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db.models import F, Q, QuerySet
from django.urls import reverse

from orders.common.models.run import CANCELED, DONE, FAILED
from orders.reports.models import ReportMail
from orders.reports.selectors import export_path, report_name, report_opens

log = logging.getLogger("fencerow.reports")

# Tunable, our own choice, as for reminders: a claim outlives a slow mail server; what could not be mailed in a week is
# left to the page that shows the file.
CLAIM = timedelta(minutes=10)
MAILED_WITHIN = timedelta(days=7)
SERVER_SECONDS = 20
ERROR_CHARACTERS = 300
MEDIA_TYPES = {"csv": "text/csv", "pdf": "application/pdf", "xlsx": "application/octet-stream"}


def report_mails_send(*, clock: Callable[[], datetime]) -> int:
    """Mail what waits. Never call it inside a transaction: a mail cannot be rolled back.

    Each row is claimed by compare-and-set, mailed, then marked. A run that dies in between leaves a claim that lapses,
    and the mail goes out again under the same Message-ID. Returns how many the server took.
    """
    sent = 0
    for mail in _waiting(clock()):
        claimed_at = clock()
        if not _claim(mail, claimed_at):
            continue
        error = _send(mail)
        ended: dict[str, Any] = {"error": error[:ERROR_CHARACTERS], "claimed_at": None}
        if not error:
            ended["sent_at"] = clock()
            sent += 1
        ReportMail.objects.filter(pk=mail.pk, claimed_at=claimed_at).update(**ended)
    return sent


def _waiting(at: datetime) -> QuerySet[ReportMail]:
    """Of files that are over: what is still at work is looked at again when it is."""
    rows = ReportMail.objects.select_related("schedule", "recipient", "export")
    over = rows.filter(export__state__in=[DONE, FAILED, CANCELED], sent_at__isnull=True)
    return over.filter(_free(at), export__asked_at__gte=at - MAILED_WITHIN).order_by("id")


def _free(at: datetime) -> Q:
    return Q(claimed_at__isnull=True) | Q(claimed_at__lt=at - CLAIM)


def _claim(mail: ReportMail, at: datetime) -> bool:
    held = ReportMail.objects.filter(_free(at), pk=mail.pk, sent_at__isnull=True)
    return held.update(claimed_at=at, mail_attempts=F("mail_attempts") + 1) == 1


def _send(mail: ReportMail) -> str:
    """Why it was not sent; empty where the server took it."""
    person, run = mail.recipient, mail.export
    if not report_opens(person, run.report):
        return "This person's role does not open the report any more."
    if not person.email:
        return "This person has no mail address."
    path = export_path(run)
    if run.state != DONE or path is None:
        return f"The file was not made. {run.error}".strip()
    message = EmailMessage(
        subject=f"{mail.schedule.name}: {report_name(run.report)}",
        body=_words(mail),
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=[person.email],
        headers={"Message-ID": message_id(mail), "Auto-Submitted": "auto-generated"},
        connection=get_connection(timeout=SERVER_SECONDS),
    )
    if _fits(mail):
        message.attach(run.file_name, path.read_bytes(), MEDIA_TYPES[run.file_format])
    try:
        message.send()
    except (OSError, ValueError) as error:  # the server (SMTPException is an OSError), or an address it cannot take
        log.warning("Report mail %s was not taken: %s", mail.public_id, type(error).__name__)
        return f"The mail server did not take it ({type(error).__name__}). It is tried again."
    return ""


def message_id(mail: ReportMail) -> str:
    """Of the row: a mail that goes out twice can be recognized."""
    return f"<fencerow.report.{mail.public_id}@{settings.MESSAGE_ID_DOMAIN}>"


def _fits(mail: ReportMail) -> bool:
    return mail.export.size_bytes <= settings.EXPORT_MAIL_MAX_BYTES


def _words(mail: ReportMail) -> str:
    run = mail.export
    address = settings.SITE_ADDRESS + reverse("export-file", args=[run.public_id])
    where = "The file is attached." if _fits(mail) else f"The file is too large to be mailed. Fetch it here: {address}"
    lines = [
        where,
        "",
        f"{run.file_name}: {run.rows_count} rows, {run.size_bytes} bytes",
        f"SHA-256: {run.sha256}",
        "",
        f"You get this since the schedule “{mail.schedule.name}” names you.",
    ]
    return "\n".join(lines)
