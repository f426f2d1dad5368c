"""The main job from the terminal, a verb a step: estimate, prescribe, plan, accept, issue, start, close, report."""

import json
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from estimating.errors import EstimatingError
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.steps import STEPS
from orders.estimates.models import RateBook
from orders.planning.preview import RECOMMENDED
from orders.reports.accuracy import GROUPS
from orders.reports.costs import CUTS


class Command(BaseCommand):
    help = "Take one step of the main job. `manage.py work STEP --help` tells its words."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--as", dest="username", required=True, help="The user who takes the step.")
        steps = parser.add_subparsers(dest="step", required=True)
        season: dict[str, Any] = {"help": "The season's name, such as 2027."}
        number: dict[str, Any] = {"type": int, "help": "The work order's number."}
        estimate = steps.add_parser("estimate", help="Estimate every method that fits, on every surveyed patch.")
        estimate.add_argument("--crews", choices=[kind for kind, _ in RateBook.CREW_KINDS], default="staff")
        steps.add_parser("prescribe", help="Prescribe the recommended methods.").add_argument("season", **season)
        _choosing(steps, season)
        plan = steps.add_parser("plan", help="Assign visits to crews and days.")
        plan.add_argument("season", **season)
        plan.add_argument("--rounds", type=int, default=200, help="How many rounds of improvement to try.")
        accept = steps.add_parser("accept", help="Take a finished plan and draft its orders.")
        accept.add_argument("run", help="The plan run's id, as `plan` prints it.")
        accept.add_argument("--fund", action="append", default=[], help="CODE or CODE:PERCENT; the percents make 100.")
        for name, words in (("issue", "Give an order to its crew."), ("start", "The crew is on site.")):
            steps.add_parser(name, help=words).add_argument("number", **number)
        steps.add_parser("statement", help="Print a prefilled close-out to edit.").add_argument("number", **number)
        _changing(steps.add_parser("close", help="Close an order by a statement."), number, file=True)
        _changing(steps.add_parser("amend", help="Amend a close-out by a new statement."), number, file=True, why=True)
        _changing(steps.add_parser("void", help="Call an order off."), number, why=True)
        calibrate = steps.add_parser("calibrate", help="What closed orders teach about the rates.")
        calibrate.add_argument("season", **season)
        calibrate.add_argument("--crews", choices=[kind for kind, _ in RateBook.CREW_KINDS], default="staff")
        calibrate.add_argument("--draft", action="store_true", help="Draft the next rate book from it.")
        accuracy = steps.add_parser("accuracy", help="How good a season's estimates were.")
        accuracy.add_argument("season", **season)
        accuracy.add_argument("--by", choices=list(GROUPS), default="method")
        report = steps.add_parser("report", help="Planned against actual cost.")
        report.add_argument("--by", choices=list(CUTS), default="site")
        report.add_argument("--csv", action="store_true")

    def handle(self, *args: Any, username: str, step: str, **options: Any) -> None:
        user = User.objects.filter(username=username).first()
        if user is None:
            raise CommandError(f"There is no user {username}.")
        stamp = Stamp(by=user, at=now(), reason=options.get("because") or "")
        try:
            for line in STEPS[step](stamp, options):
                self.stdout.write(line)
        except (Refusal, EstimatingError) as refusal:
            raise CommandError(_words(refusal)) from refusal


def _choosing(steps: Any, season: dict[str, Any]) -> None:
    choose = steps.add_parser("choose", help="Choose a method for many patches, or the recommended ones.")
    choose.add_argument("season", **season)
    choose.add_argument("--method", default=RECOMMENDED, help="A method's code; without it what is recommended.")
    choose.add_argument("--site", default="", help="Only patches of this site, by its code.")
    choose.add_argument("--recommended", default="", help="Only where this method is recommended, by its code.")
    choose.add_argument("--text", default="", help="Only patches whose names hold this.")
    choose.add_argument("--keep", action="store_true", help="Keep what else is chosen there.")
    choose.add_argument("--because", default="", help="The reason, where it is not what is recommended.")
    choose.add_argument("--preview", action="store_true", help="Show what it would do and change nothing.")
    undo = steps.add_parser("undo", help="Put a choice back as it was.")
    undo.add_argument("batch", help="The choice's id, as `choose` prints it.")


def _changing(parser: CommandParser, number: dict[str, Any], *, file: bool = False, why: bool = False) -> None:
    parser.add_argument("number", **number)
    if file:
        parser.add_argument("--file", type=_document, required=True, help="A statement in JSON; see `work statement`.")
    if why:
        parser.add_argument("--because", required=True, help="The reason.")


def _document(path: str) -> Any:
    try:
        return json.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise CommandError(f"{path} cannot be read: {error}") from error


def _words(refusal: Exception) -> str:
    errors = getattr(refusal, "errors", [])
    rows = [f"  {error.field}{f' (row {error.row})' if error.row else ''}: {error.message}" for error in errors]
    return "\n".join([str(refusal), *rows])
