"""The steps of the season as the terminal takes them: planning, comparing, moving, and asking why."""

from collections.abc import Iterator
from datetime import date
from typing import Any
from uuid import UUID

from orders import flow
from orders.common.errors import FieldError, Invalid
from orders.common.models import Run
from orders.common.runs import run_claim, run_perform
from orders.common.stamp import Stamp
from orders.crews.selectors import crew_by_name
from orders.desk.season_lines import (
    break_lines,
    compared_lines,
    course_lines,
    left_out_lines,
    load_lines,
    run_lines,
    why_lines,
    window_lines,
)
from orders.estimates.selectors import method_get
from orders.planning.models import PlanRun, Season
from orders.planning.season_course import cost_weeks, crew_weeks
from orders.planning.selectors import plan_run_get, plan_runs_named, season_by_name
from orders.planning.what_if import WhatIf
from orders.planning.window_list import WindowQuestion
from orders.workorders.selectors import order_by_number, order_visits, visit_get

Options = dict[str, Any]


def plan(stamp: Stamp, options: Options) -> Iterator[str]:
    yield from _made(flow.plan_season(**_asked(stamp, options)), stamp)


def again(stamp: Stamp, options: Options) -> Iterator[str]:
    yield from _made(flow.plan_again(**_asked(stamp, options)), stamp)


def whatif(stamp: Stamp, options: Options) -> Iterator[str]:
    what = WhatIf(
        extra_crews=options["crews"],
        like_crew=crew_by_name(options["like"]).public_id if options["like"] else None,
        budget_percent=options["budget"],
        no_herbicide=options["no_herbicide"],
    )
    yield from _made(flow.plan_what_if(what=what, **_asked(stamp, options)), stamp)


def _asked(stamp: Stamp, options: Options) -> dict[str, Any]:
    search = {"iterations": options["rounds"], "exact_work": options["exact"], "seed": options["seed"]}
    return {"season": season(options), "stamp": stamp, **search}


def _made(asked: PlanRun, stamp: Stamp) -> Iterator[str]:
    """In this process, so that no worker is needed; one that is running may take the row first, and that is as good."""
    run: Run = asked
    attempt = run_claim(run, at=stamp.at)
    if attempt is not None:
        run_perform(run, attempt, clock=lambda: stamp.at)
    yield from run_lines(plan_run_get(asked.public_id))


def compare(stamp: Stamp, options: Options) -> Iterator[str]:
    runs = plan_runs_named([id_of(text, "run") for text in options["runs"]])
    yield from compared_lines(flow.compare_plans(runs=runs))


def drop(stamp: Stamp, options: Options) -> Iterator[str]:
    yield f"run {flow.drop_plan(run=_run(options['run']), stamp=stamp).public_id} is dropped"


def leftout(stamp: Stamp, options: Options) -> Iterator[str]:
    run = _run(options["run"])
    yield from left_out_lines(run)
    yield f"{len(run.left_out)} left out"


def why(stamp: Stamp, options: Options) -> Iterator[str]:
    order = order_by_number(actor(stamp), options["number"], on=stamp.at.date())
    yield f"{order}: {order.site}, {order.crew}, {order.first_day} to {order.last_day}"
    yield from why_lines(order_visits(order))


def move(stamp: Stamp, options: Options) -> Iterator[str]:
    visit = visit_get(actor(stamp), id_of(options["visit"], "visit"), on=stamp.at.date())
    crew = crew_by_name(options["crew"]) if options["crew"] else visit.crew
    day = _day(options["day"]) if options["day"] else visit.day
    yield from break_lines(flow.move_preview(visit=visit, crew=crew, day=day))
    if not options["preview"]:
        moved = flow.move_visit(visit=visit, crew=crew, day=day, keep=options["keep"], stamp=stamp)
        yield f"visit {moved.public_id}: {moved.crew}, {moved.day}{', kept there' if moved.is_kept else ''}"


def windows(stamp: Stamp, options: Options) -> Iterator[str]:
    """By the method that is named, else by those that are recommended or chosen on each patch."""
    method = method_get(options["method"]).code if options["method"] else ""
    question = WindowQuestion(site=options["site"], method=method, shown="all" if method else "used")
    for line in flow.windows_asked(question=question, season=season(options)):
        yield from window_lines(line)


def load(stamp: Stamp, options: Options) -> Iterator[str]:
    yield from load_lines(crew_weeks(season(options), _run_or_none(options)))


def course(stamp: Stamp, options: Options) -> Iterator[str]:
    asked = season(options)
    yield from course_lines(cost_weeks(asked, _run_or_none(options)), asked.budget_cents)


def actor(stamp: Stamp) -> Any:
    return stamp.by


def season(options: Options) -> Season:
    return season_by_name(options["season"])


def id_of(text: str, name: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise Invalid("The id cannot be read.", [FieldError(name, f"{text!r} is no id")]) from None


def _run(text: str) -> PlanRun:
    return plan_run_get(id_of(text, "run"))


def _run_or_none(options: Options) -> PlanRun | None:
    return _run(options["run"]) if options["run"] else None


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Invalid(
            "The day cannot be read.", [FieldError("day", f"{text!r} is no day such as 2027-02-10")]
        ) from None


SEASON_STEPS = (plan, again, whatif, compare, drop, leftout, why, move, windows, load, course)
