"""Posting months: which one takes a posting, and how two people close and reopen one. Closed ones take nothing.

One asks, another confirms. Where a program has one desk, the second is a named person outside it, and the step says so
(common practice: nobody closes the books alone). Closing rests on a good proof of every row there is.
"""

from dataclasses import dataclass, fields
from datetime import date

from django.conf import settings

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, Refusal, WrongState
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.digest import balances, rows_digest
from orders.costs.models import LedgerEntry, Period, PeriodStep, Proof

OPEN_STATES = ("open", "closing")
ASKED = {"closing": ("ask_close", "open"), "reopening": ("ask_reopen", "closed")}  # state -> its step, and the way back


class ProofMissing(Refusal):
    """The newest proof is bad, or older than the newest ledger row."""

    code = "proof_missing"
    title = "The ledger is not proven"


class EarlierMonthOpen(Refusal):
    """Months are closed in their order, and reopened from the last one."""

    code = "months_in_order"
    title = "Another month comes first"


class SecondPersonMissing(Refusal):
    """Whoever asked cannot confirm alone."""

    code = "second_person_missing"
    title = "It takes two people"


@dataclass(frozen=True)
class Outsider:
    """The second person where a program has one desk: somebody outside it, by name, and how they agreed."""

    name: str
    organization: str
    how: str


def month_after(month: date) -> date:
    return date(month.year + month.month // 12, month.month % 12 + 1, 1)


def posting_month_for(day: date) -> date:
    """The month of the day, or where that is closed the first one after it that is open. The caller holds the write
    lock, so that no period closes between this and the posting."""
    month = day.replace(day=1)
    shut = set(Period.objects.exclude(state__in=OPEN_STATES).values_list("first_day", flat=True))
    while month in shut:
        month = month_after(month)
    return month


@writing()
def period_close_ask(*, month: date, expected: int | None = None, stamp: Stamp) -> Period:
    """Ask for a month to be closed, once it is over, no earlier one with rows is open, and the ledger is proven. Until
    it is confirmed it still takes postings."""
    if month.day != 1:
        raise Invalid("There is no such month.", [FieldError("month", "must be the first day of a month")])
    if month_after(month) > stamp.local_date(settings.PROGRAM_TIME_ZONE):
        raise WrongState(f"{month:%B %Y} is not over yet.")
    period, _ = Period.objects.get_or_create(first_day=month)
    _state_need(period, "open", "is open")
    _closing_check(period)
    return _step(period, "ask_close", "closing", expected=expected, stamp=stamp)


@writing()
def period_close_confirm(
    *, period: Period, outsider: Outsider | None = None, expected: int | None = None, stamp: Stamp
) -> Period:
    """The second person closes the month: its balances, row count and hash are kept, to be held against each night."""
    period.refresh_from_db()
    _state_need(period, "closing", "was asked to be closed")
    _second_check(period, outsider, stamp)
    _closing_check(period)
    rows = LedgerEntry.objects.filter(posting_month=period.first_day)
    digest = rows_digest(rows)
    kept = {
        "balances": balances(rows),
        "rows_count": digest.rows,
        "rows_sha256": digest.sha256,
        "closed_at": stamp.at,
    }
    return _step(period, "close", "closed", expected=expected, outsider=outsider, stamp=stamp, **kept)


@writing()
def period_reopen_ask(*, period: Period, expected: int | None = None, stamp: Stamp) -> Period:
    """Ask for the last closed month to be opened again, with a reason. It stays shut until that is confirmed."""
    period.refresh_from_db()
    _state_need(period, "closed", "is closed")
    if not stamp.reason.strip():
        raise Invalid("Say why the month has to be opened again.", [FieldError("reason", "is empty", code="required")])
    _last_check(period)
    return _step(period, "ask_reopen", "reopening", expected=expected, stamp=stamp)


@writing()
def period_reopen_confirm(
    *, period: Period, outsider: Outsider | None = None, expected: int | None = None, stamp: Stamp
) -> Period:
    """The second person opens the month again. What it came to when it was closed stays in the record of changes."""
    period.refresh_from_db()
    _state_need(period, "reopening", "was asked to be opened again")
    _second_check(period, outsider, stamp)
    _last_check(period)
    return _step(
        period,
        "reopen",
        "open",
        expected=expected,
        outsider=outsider,
        stamp=stamp,
        balances={},
        rows_count=0,
        rows_sha256="",
        closed_at=None,
    )


@writing()
def period_withdraw(*, period: Period, expected: int | None = None, stamp: Stamp) -> Period:
    """Take a question back, or turn it down: the month is again what it was before."""
    period.refresh_from_db()
    if period.state not in ASKED:
        raise WrongState(f"Nothing is asked of {period}.")
    return _step(period, "withdraw", ASKED[period.state][1], expected=expected, stamp=stamp)


def _step(
    period: Period,
    kind: str,
    state: str,
    *,
    expected: int | None,
    outsider: Outsider | None = None,
    stamp: Stamp,
    **kept: object,
) -> Period:
    """Compare-and-set on the version; the record carries counts and hashes, never what an account holds."""
    before = version_bump(period, expected=expected, state=state, **kept)
    told = Outsider(*(value.strip() for value in vars(outsider).values())) if outsider else Outsider("", "", "")
    PeriodStep.objects.create(
        period=period,
        kind=kind,
        by=stamp.by,
        outside_name=told.name,
        outside_organization=told.organization,
        outside_how=told.how,
        at=stamp.at,
        reason=stamp.reason,
    )
    after = {"month": f"{period.first_day:%Y-%m}", "state": state, "rows_sha256": period.rows_sha256}
    was = {"state": before["state"], "rows_sha256": before.get("rows_sha256", period.rows_sha256)}
    change_record(stamp=stamp, verb=f"period_{kind}", entity=period, before=was, after=after)
    return period


def _state_need(period: Period, state: str, words: str) -> None:
    if period.state != state:
        now = period.get_state_display().lower()
        raise WrongState(f"This is for a month that {words}; {period} is: {now}.", data={"state": period.state})


def _second_check(period: Period, outsider: Outsider | None, stamp: Stamp) -> None:
    """Another user, or somebody from outside with all three facts."""
    if outsider is not None:
        _outsider_check(outsider)
        return
    asked = period.steps.filter(kind=ASKED[period.state][0]).latest("id")
    if stamp.by is None or asked.by_id == stamp.by.pk:
        raise SecondPersonMissing(
            "You asked for it yourself: another person has to confirm, or name somebody outside who agreed.",
            [FieldError("outsider", "is needed where one person asks and confirms", code="required")],
        )


def _outsider_check(outsider: Outsider) -> None:
    errors = []
    for field in fields(outsider):
        value, most = getattr(outsider, field.name).strip(), 200 if field.name == "how" else 120
        if not value:
            errors.append(FieldError(f"outsider.{field.name}", "is empty", code="required"))
        elif len(value) > most:
            errors.append(FieldError(f"outsider.{field.name}", f"has more than {most} characters", code="max_length"))
    if _logs_in_here(outsider.name):
        errors.append(FieldError("outsider.name", "logs in here: nobody inside is an outsider", code="inside"))
    if errors:
        raise Invalid("Name the person outside, their organization, and how they agreed.", errors)


def _logs_in_here(name: str) -> bool:
    """Whoever has a login confirms by it; above all, whoever asked does not confirm by their own name."""
    known = User.objects.filter(is_active=True).values_list("username", "first_name", "last_name", "person__name")
    names = {_plain(one) for login, first, last, person in known for one in (login, f"{first} {last}", person or "")}
    return _plain(name) in names - {""}


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


def _closing_check(period: Period) -> None:
    shut = Period.objects.exclude(state__in=OPEN_STATES).values("first_day")
    earlier = LedgerEntry.objects.filter(posting_month__lt=period.first_day).exclude(posting_month__in=shut)
    first = earlier.order_by("posting_month").values_list("posting_month", flat=True).first()
    if first is not None:
        raise EarlierMonthOpen(f"{first:%B %Y} has postings and is open: close it first.")
    proof = Proof.objects.order_by("-id").first()
    newest = LedgerEntry.objects.order_by("-id").values_list("id", flat=True).first() or 0
    if proof is None or proof.last_row != newest:
        raise ProofMissing("Something was posted since the last proof: run it again.")
    if not proof.is_good:
        raise ProofMissing("The last proof found something wrong: put that right first, and run it again.")


def _last_check(period: Period) -> None:
    """A month before one that is closed stays closed: the later balances rest on it."""
    later = Period.objects.exclude(state__in=OPEN_STATES).filter(first_day__gt=period.first_day)
    if last := later.order_by("-first_day").first():
        raise EarlierMonthOpen(f"{last} is closed after it: open that one first.")
