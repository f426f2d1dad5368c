"""The proof of the ledger: every check over one state of the rows, kept whether it was good or not.

A ledger row is a transfer: it holds both its sides, so that half a posting cannot exist and the trial balance is zero
by the shape of the rows. The proof adds it up all the same, account by account, and holds the ledger against what it
came from: close-outs, stock, payroll, charges that wait, months that are closed.
"""

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage, get_connection

from orders.common.changes import change_record
from orders.common.models import User
from orders.common.models.user import FINANCE
from orders.common.stamp import Stamp
from orders.common.transactions import reading, writing
from orders.costs.digest import Digest, rows_digest
from orders.costs.models import LedgerEntry, Proof
from orders.costs.proofs import CHECKS, Check
from orders.costs.services.stock import stock_values_post

log = logging.getLogger("fencerow.costs")

MOST_FOUND = 20
SERVER_SECONDS = 20


@dataclass(frozen=True)
class Looked:
    """What the checks found, and the rows that they looked at."""

    results: list[dict[str, Any]]
    digest: Digest


def proof_run(at: datetime, by: User | None = None) -> Proof:
    """Value the stock that waits for it, as after an upgrade or a first suspense fund; look at everything; then keep
    what was found."""
    stamp = Stamp(by=by, at=at)
    stock_values_post(posted_on=stamp.local_date(settings.PROGRAM_TIME_ZONE), stamp=stamp)
    return proof_keep(proof_look(), stamp)


def proof_look() -> Looked:
    """Every check. Writers go on meanwhile: all checks read one state of the rows, and what is posted after it is the
    next proof's. Writes nothing."""
    with reading():
        return Looked([_result(one) for one in CHECKS], rows_digest(LedgerEntry.objects.all()))


@writing()
def proof_keep(looked: Looked, stamp: Stamp) -> Proof:
    """Good or bad, it is kept."""
    proof = Proof.objects.create(
        ran_at=stamp.at,
        ran_by=stamp.by,
        is_good=all(result["good"] for result in looked.results),
        checks=looked.results,
        rows_count=looked.digest.rows,
        last_row=looked.digest.last_row,
        rows_sha256=looked.digest.sha256,
    )
    after = {"is_good": proof.is_good, "rows": proof.rows_count, "sha256": proof.rows_sha256}
    change_record(stamp=stamp, verb="proof_run", entity=proof, after=after)
    return proof


def _result(one: Check) -> dict[str, Any]:
    found = list(islice(one.find(), MOST_FOUND + 1))
    shown = found[:MOST_FOUND]
    return {"code": one.code, "words": one.words, "good": not found, "found": shown, "more": len(found) > MOST_FOUND}


def proof_nightly(*, clock: Callable[[], datetime], by: User | None = None) -> Proof:
    """Run it, and tell finance of a bad one. Never call it inside a transaction: a mail cannot be rolled back. A mail
    that is lost with its worker is made good by the next night's, and the page of month ends tells it meanwhile."""
    proof = proof_run(clock(), by)
    if not proof.is_good:
        _mail(proof)
    return proof


def _mail(proof: Proof) -> None:
    to = _addresses()
    if not to:
        return
    message = EmailMessage(
        subject="The proof of the ledger found something wrong",
        body=proof_words(proof),
        from_email=settings.DEFAULT_FROM_EMAIL,
        to=to,
        headers={
            "Message-ID": f"<fencerow.proof.{proof.public_id}@{settings.MESSAGE_ID_DOMAIN}>",
            "Auto-Submitted": "auto-generated",
        },
        connection=get_connection(timeout=SERVER_SECONDS),
    )
    try:
        message.send()
    except (OSError, ValueError) as error:  # the server (SMTPException is an OSError), or an address it cannot take
        log.warning("Mail of proof %s was not taken: %s", proof.public_id, type(error).__name__)


def proof_words(proof: Proof) -> str:
    """What the mail says: which checks are bad and how many rows stand behind each, never an amount or a person."""
    bad = [result for result in proof.checks if not result["good"]]
    lines = [f"- {result['words']}: not so ({_count(result)} found)" for result in bad]
    told = "\n".join(lines)
    return f"{proof.rows_count} rows were looked at.\n\n{told}\n\nNo month can be closed until this is put right.\n"


def _count(result: dict[str, Any]) -> str:
    return f"more than {MOST_FOUND}" if result["more"] else str(len(result["found"]))


def _addresses() -> list[str]:
    people = User.objects.filter(is_active=True, roles__code=FINANCE).exclude(email="")
    return sorted(set(people.order_by().values_list("email", flat=True)))
