"""The groups of checks that deploy/check runs, and what it says at the end.

python -m deploy.lib.check [--fast | --slow] [--only WORD]
"""

import argparse
import os
import secrets
import signal
import sys
import tempfile
import time
from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from deploy.lib.debian import CannotRun
from deploy.lib.files import READ_BY_PYTEST, settings_variables
from deploy.lib.processes import Outcome, adopt_orphans, run
from deploy.lib.services import Services

ROOT = Path(__file__).resolve().parents[2]
FAST, USUAL, SLOW = 1, 2, 3
PYTHON = (sys.executable,)
MANAGE = (sys.executable, "manage.py")
PYTEST = (sys.executable, "-m", "pytest")
ON_TWO_CORES = (*PYTEST, "-n", "2")
# Which database it is makes no difference to these: they touch none, or ask the same few rows over and over.
ALIKE_ON_EACH = (
    "admin",
    "api/test_permissions.py",
    "api/test_schema.py",
    "benchmarks",
    "bodies",
    "desk/pages/guide",
    "estimating",
    "fixtures",
    "house",
    "published",
    "sites/geofiles",
    "tablet",
)
# What stands on the services: there the second database takes as long as all else together.
ABOVE_SERVICES = ("api", "desk")


def _without(*rooms: str) -> tuple[str, ...]:
    return tuple(f"--ignore=tests/{room}" for room in rooms)


SERVERS = ("PostgreSQL", "Redis")
NO_TEST_RAN = 5  # pytest's exit code
ENDING_SIGNALS = (signal.SIGTERM, signal.SIGHUP, signal.SIGINT)

# A developer's own shell may have these set for the program; the checks decide them themselves.
OWN_VARIABLES = settings_variables() | READ_BY_PYTEST
LIKE_PRODUCTION = {
    "ALLOWED_HOSTS": "fencerow.example.org",
    "BEHIND_TLS_PROXY": "1",
    "CSRF_TRUSTED_ORIGINS": "https://fencerow.example.org",
    "DJANGO_SECRET_KEY": secrets.token_urlsafe(60),
}


@dataclass(frozen=True)
class Group:
    """Commands that pass or fail together, and what they need from outside."""

    name: str
    commands: tuple[tuple[str, ...], ...]
    from_level: int = FAST
    needs: tuple[str, ...] = ()
    env: dict[str, str] = field(default_factory=dict)
    minutes: int = 10


def _tool(name: str, *words: str) -> tuple[str, ...]:
    return (str(Path(sys.executable).with_name(name)), *words)


GROUPS = (
    Group("Pinned packages", ((*PYTHON, "-m", "pip", "check"), (*PYTHON, "-m", "deploy.lib.pins"))),
    Group("Deployment files", ((*PYTHON, "-m", "deploy.lib.files"),)),
    Group("Format", (_tool("ruff", "format", "--check", "."),)),
    Group("Lint", (_tool("ruff", "check", "."),)),
    Group("Imports between folders", (_tool("lint-imports"),)),
    Group("Types", (_tool("mypy", "estimating", "orders", "deploy", "tests"),)),
    Group(
        "Migrations and Django's checks",
        (
            (*MANAGE, "makemigrations", "--check", "--dry-run"),
            (*MANAGE, "migrate", "--verbosity", "0"),
            (*MANAGE, "check", "--database", "default", "--fail-level", "WARNING"),
        ),
    ),
    Group("API description", ((*MANAGE, "spectacular", "--validate", "--fail-on-warn", "--file", os.devnull),)),
    Group("Tests on SQLite", (ON_TWO_CORES,), minutes=60),
    Group(
        "Production settings on PostgreSQL and Redis",
        (
            (*MANAGE, "migrate", "--verbosity", "0"),
            (*MANAGE, "check", "--deploy", "--database", "default", "--fail-level", "WARNING"),
        ),
        from_level=USUAL,
        needs=SERVERS,
        env=LIKE_PRODUCTION,
    ),
    Group(
        "Services on PostgreSQL and Redis",
        ((*ON_TWO_CORES, *_without(*ALIKE_ON_EACH, *ABOVE_SERVICES)),),
        from_level=USUAL,
        needs=SERVERS,
        minutes=60,
    ),
    Group(
        "API and pages on PostgreSQL and Redis",
        ((*ON_TWO_CORES, *_without(*ALIKE_ON_EACH), *(f"tests/{room}" for room in ABOVE_SERVICES)),),
        from_level=SLOW,
        needs=SERVERS,
        minutes=60,
    ),
    Group("Browser tests", ((*ON_TWO_CORES, "-m", "browser"),), from_level=SLOW, needs=("Chromium",), minutes=90),
    Group("Guides and their pictures", ((*PYTEST, "-m", "guide"),), from_level=SLOW, needs=("Chromium",), minutes=45),
    Group("Spreadsheets in LibreOffice", ((*PYTEST, "-m", "office"),), from_level=SLOW, needs=("LibreOffice",)),
    Group("Fuzz tests of the API", ((*ON_TWO_CORES, "-m", "fuzz"),), from_level=SLOW, minutes=60),
    Group("Kill tests, embedded", ((*PYTEST, "-m", "kill"),), from_level=SLOW, minutes=45),
    Group("Kill tests on PostgreSQL and Redis", ((*PYTEST, "-m", "kill"),), from_level=SLOW, needs=SERVERS, minutes=45),
)


@dataclass(frozen=True)
class Result:
    """What became of a group."""

    group: Group
    state: str
    seconds: float
    note: str = ""


PASSED, FAILED, NOT_RUN = "passed", "FAILED", "NOT RUN"


def group_run(group: Group, services: Services, folder: Path) -> Result:
    """Run the group's commands in order until one fails, each with a data folder of the group's own."""
    print(f"\n===== {group.name} =====", flush=True)
    started = time.monotonic()
    try:
        env = _environment(group, services, folder)
    except CannotRun as reason:
        print(f"NOT RUN: {reason}", flush=True)
        return Result(group, NOT_RUN, time.monotonic() - started, str(reason))
    note = ""
    for command in group.commands:
        outcome = run(command, env=env, seconds=group.minutes * 60, keep=services.pids)
        if note := _what_went_wrong(command, outcome, group):
            break
    result = Result(group, FAILED if note else PASSED, time.monotonic() - started, note)
    print(f"----- {group.name}: {result.state} in {result.seconds:.1f} s{f' ({note})' if note else ''}", flush=True)
    return result


def _environment(group: Group, services: Services, folder: Path) -> dict[str, str]:
    data = folder / f"data-{GROUPS.index(group)}"
    data.mkdir(exist_ok=True)
    env = {name: value for name, value in os.environ.items() if name not in OWN_VARIABLES}
    for need in group.needs:
        env |= services.environment(need)
    return env | {"DATA_DIR": str(data)} | group.env


def _what_went_wrong(command: tuple[str, ...], outcome: Outcome, group: Group) -> str:
    shown = " ".join([Path(command[0]).name, *command[1:]])
    if outcome.code is None:
        return f"{shown}: stopped, not done after {group.minutes} minutes"
    if outcome.code == NO_TEST_RAN and "pytest" in command:
        return f"{shown}: no test ran"
    if outcome.code:
        return f"{shown}: exit code {outcome.code}"
    if outcome.left_behind:
        return f"{shown}: left processes running, ended now: {', '.join(outcome.left_behind)}"
    return ""


def summary_print(results: Iterable[Result], *, not_run_fails: bool) -> bool:
    """The table, what was not run, and the closing line. True when all is well."""
    print("\n===== Summary =====")
    counted = {PASSED: 0, FAILED: 0, NOT_RUN: 0}
    for result in results:
        counted[result.state] += 1
        note = f"  {result.note}" if result.note else ""
        print(f"{result.state:8} {result.seconds:7.1f} s  {result.group.name}{note}")
    failed = counted[FAILED] + (counted[NOT_RUN] if not_run_fails else 0)
    if counted[NOT_RUN]:
        means = "with CI=true that is a failure" if not_run_fails else "nothing is known about them"
        print(f"!!! {counted[NOT_RUN]} group(s) NOT RUN, named above: {means}.")
    skipped = f", {counted[NOT_RUN]} skipped" if counted[NOT_RUN] and not not_run_fails else ""
    print(f"{counted[PASSED]} passed, {failed} failed{skipped}", flush=True)
    return failed == 0


def _chosen(words: argparse.Namespace) -> list[Group]:
    groups = [group for group in GROUPS if group.from_level <= words.level]
    return [group for group in groups if not words.only or words.only.lower() in group.name.lower()]


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="deploy/check")
    level = parser.add_mutually_exclusive_group()
    level.add_argument("--fast", dest="level", action="store_const", const=FAST)
    level.add_argument("--slow", dest="level", action="store_const", const=SLOW)
    parser.add_argument("--only", metavar="WORD")
    parser.set_defaults(level=USUAL)
    return parser.parse_args()


def _end_tidily(number: int, _frame: FrameType | None) -> None:
    for each in ENDING_SIGNALS:
        signal.signal(each, signal.SIG_IGN)  # a second Ctrl-C must not cut the tidying short
    sys.exit(128 + number)


def main() -> int:
    groups = _chosen(_arguments())
    if not groups:
        print("No group has that word in its name.", file=sys.stderr)
        return 2
    for number in ENDING_SIGNALS:
        signal.signal(number, _end_tidily)
    os.chdir(ROOT)
    adopt_orphans()
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="fencerow-check-")))
        services = Services(stack, folder)
        results = [group_run(group, services, folder) for group in groups]
    return 0 if summary_print(results, not_run_fails=os.environ.get("CI") == "true") else 1


if __name__ == "__main__":
    sys.exit(main())
