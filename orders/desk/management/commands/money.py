"""The end of a month from the terminal: proof, months, close, confirm, reopen, withdraw, journal."""

from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.common.clock import now
from orders.common.errors import NotFound, Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.journal_file import journal_lines
from orders.costs.month_end import month_end_steps
from orders.costs.month_selectors import journal_batches, months, period_of
from orders.costs.selectors import costs_open_to
from orders.costs.services.journal import journal_export
from orders.costs.services.periods import (
    Outsider,
    period_close_ask,
    period_close_confirm,
    period_reopen_ask,
    period_reopen_confirm,
    period_withdraw,
)
from orders.costs.services.proof import proof_nightly
from orders.reports.cells import cents_text

Options = dict[str, Any]


class BadProof(Refusal):
    """The proof found something wrong; it is kept with all that it found."""

    code = "proof_bad"
    title = "The proof is bad"


class Command(BaseCommand):
    help = "Prove the ledger, close its months, make journals. `manage.py money STEP --help` tells its words."

    def add_arguments(self, parser: CommandParser) -> None:
        steps = parser.add_subparsers(dest="step", required=True)
        _as(steps.add_parser("proof", help="Run the proof now; ends with an error where it is bad."))
        _as(steps.add_parser("months", help="All months, their state and what is posted to them."))
        _month(steps.add_parser("steps", help="What is open in a month."))
        _month(steps.add_parser("close", help="Ask for a month to be closed."))
        confirm = steps.add_parser("confirm", help="Confirm what was asked of a month, as the second person.")
        _month(confirm)
        confirm.add_argument("--outside", nargs=3, metavar=("NAME", "ORGANIZATION", "HOW"), help="Who agreed outside.")
        reopen = steps.add_parser("reopen", help="Ask for a closed month to be opened again.")
        _month(reopen)
        reopen.add_argument("--because", required=True, help="Why.")
        _month(steps.add_parser("withdraw", help="Take back what was asked of a month."))
        journal = steps.add_parser("journal", help="Make the next journal, or write one that was made.")
        _as(journal)
        journal.add_argument("--number", type=int, help="One that was made; without it the next is made.")
        journal.add_argument("--to", type=Path, help="The file to write it to.")

    def handle(self, *args: Any, step: str, **options: Any) -> None:
        user = User.objects.filter(username=options["username"]).first()
        if user is None:
            raise CommandError(f"There is no user {options['username']}.")
        try:
            costs_open_to(user)
            for line in STEPS[step](user, options):
                self.stdout.write(line)
        except Refusal as refusal:
            rows = [f"  {error.field}: {error.message}" for error in refusal.errors]
            raise CommandError("\n".join([refusal.detail, *rows])) from refusal


def _as(parser: ArgumentParser) -> None:
    parser.add_argument("--as", dest="username", required=True, help="The user who does it.")


def _month(parser: ArgumentParser) -> None:
    _as(parser)
    parser.add_argument("month", type=_first_day, help="Such as 2027-02.")


def _first_day(text: str) -> date:
    return date.fromisoformat(f"{text}-01")


def _stamp(user: User, reason: str = "") -> Stamp:
    return Stamp(by=user, at=now(), reason=reason)


def _period(user: User, options: Options) -> Any:
    found = period_of(user, options["month"])
    if found is None:
        raise NotFound("Nothing was asked of this month: it is open.")
    return found


def _proof(user: User, options: Options) -> Iterator[str]:
    proof = proof_nightly(clock=now, by=user)
    for result in proof.checks:
        yield f"{'good' if result['good'] else 'BAD '} {result['code']}: {result['words']}"
        yield from (f"       {words}" for words in result["found"])
    yield f"{proof.rows_count} rows, {proof.rows_sha256}"
    if not proof.is_good:
        raise BadProof("The proof is bad.")


def _months(user: User, options: Options) -> Iterator[str]:
    for line in months(user):
        yield f"{line.month:%Y-%m} {line.state}: {line.rows} rows, costs of {cents_text(line.cost_cents)} dollars"


def _steps(user: User, options: Options) -> Iterator[str]:
    for step in month_end_steps(user, options["month"]):
        yield f"{step.state} {step.words}{f' ({step.count})' if step.count else ''}: {step.told}"


def _close(user: User, options: Options) -> Iterator[str]:
    yield f"{period_close_ask(month=options['month'], stamp=_stamp(user))} waits for another person"


def _confirm(user: User, options: Options) -> Iterator[str]:
    period = _period(user, options)
    outsider = Outsider(*options["outside"]) if options["outside"] else None
    act = period_reopen_confirm if period.state == "reopening" else period_close_confirm
    period = act(period=period, outsider=outsider, stamp=_stamp(user))
    yield f"{period} is {period.state}"


def _reopen(user: User, options: Options) -> Iterator[str]:
    period = period_reopen_ask(period=_period(user, options), stamp=_stamp(user, options["because"]))
    yield f"{period} waits for another person"


def _withdraw(user: User, options: Options) -> Iterator[str]:
    period = period_withdraw(period=_period(user, options), stamp=_stamp(user))
    yield f"{period} is {period.state}"


def _journal(user: User, options: Options) -> Iterator[str]:
    number = options["number"]
    batch = journal_batches(user).filter(number=number).first() if number else journal_export(_stamp(user))
    if batch is None:
        raise NotFound(f"There is no journal {number}.")
    if options["to"]:
        with options["to"].open("wb") as file:
            file.writelines(journal_lines(batch))
    yield f"{batch}: {batch.rows_count} rows, debits of {cents_text(batch.total_cents)} dollars, {batch.file_sha256}"


STEPS: dict[str, Callable[[User, Options], Iterator[str]]] = {
    "proof": _proof,
    "months": _months,
    "steps": _steps,
    "close": _close,
    "confirm": _confirm,
    "reopen": _reopen,
    "withdraw": _withdraw,
    "journal": _journal,
}
