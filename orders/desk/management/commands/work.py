"""The main job from the terminal, a verb a step: estimate, prescribe, plan, accept, issue, start, close, report."""

import json
import sys
from io import StringIO
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser, OutputWrapper

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
        _planning(steps, season, number)
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
                self._tell(line)
        except (Refusal, EstimatingError) as refusal:
            raise CommandError(_words(refusal)) from refusal

    def _tell(self, line: str) -> None:
        """A reader that hangs up, such as `head`, does not stop the step."""
        try:
            self.stdout.write(line)
        except BrokenPipeError:
            sys.stdout = StringIO()
            self.stdout = OutputWrapper(sys.stdout)


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


def _planning(steps: Any, season: dict[str, Any], number: dict[str, Any]) -> None:
    _search(steps.add_parser("plan", help="Assign visits to crews and days."), season)
    _search(steps.add_parser("again", help="Plan again after something changed; little moves."), season)
    what = steps.add_parser("whatif", help="What a plan would come to with other crews, money or methods.")
    _search(what, season)
    what.add_argument("--crews", type=int, default=0, help="How many more crews.")
    what.add_argument("--like", default="", help="The crew that they are copies of, by its name.")
    what.add_argument("--budget", type=float, default=100.0, help="Percent of every budget.")
    what.add_argument("--no-herbicide", action="store_true")
    compare = steps.add_parser("compare", help="Finished plans beside each other.")
    compare.add_argument("runs", nargs="+", metavar="run", help="Plan runs' ids.")
    for name, words in (("drop", "Drop a plan as a whole."), ("leftout", "What a plan leaves out, and why.")):
        steps.add_parser(name, help=words).add_argument("run", help="The plan run's id.")
    steps.add_parser("why", help="Why each visit of an order is on its day.").add_argument("number", **number)
    _looking(steps, season)
    move = steps.add_parser("move", help="Move a visit by hand; what it breaks is told.")
    move.add_argument("visit", help="The visit's id.")
    move.add_argument("--crew", default="", help="The crew's name; else its own.")
    move.add_argument("--day", default="", help="Such as 2027-02-10; else its own.")
    move.add_argument("--because", default="", help="The reason, where the move breaks something.")
    move.add_argument("--keep", action="store_true", help="New plans leave it there.")
    move.add_argument("--preview", action="store_true", help="Tell what it would break and change nothing.")


def _search(parser: CommandParser, season: dict[str, Any]) -> None:
    parser.add_argument("season", **season)
    parser.add_argument("--rounds", type=int, default=200, help="How many rounds of improvement to try.")
    parser.add_argument("--exact", type=float, default=0.0, help="Deterministic seconds of the exact solver.")
    parser.add_argument("--seed", type=int, default=0, help="The same seed and rounds give the same plan.")


def _looking(steps: Any, season: dict[str, Any]) -> None:
    windows = steps.add_parser("windows", help="When methods may be used on patches, and why then.")
    windows.add_argument("season", **season)
    windows.add_argument("--site", default="", help="Only patches of this site, by its code.")
    windows.add_argument(
        "--method", default="", help="A method's code; else what is recommended or chosen on each patch."
    )
    for name, words in (("load", "Hours of each crew and week."), ("course", "What the work comes to by week.")):
        parser = steps.add_parser(name, help=words)
        parser.add_argument("season", **season)
        parser.add_argument("--run", default="", help="As if this plan run were accepted, by its id.")


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
