"""The steps of the main job as the terminal takes them: each a call of the flow and the lines that tell of it."""

import json
from collections.abc import Callable, Iterator
from decimal import Decimal, InvalidOperation
from typing import Any
from uuid import UUID

from orders import corrections, flow
from orders.common.errors import FieldError, Invalid, NotFound
from orders.common.models import Run
from orders.common.runs import run_claim, run_perform
from orders.common.stamp import Stamp
from orders.costs.selectors import fund_by_code
from orders.costs.services.posting import FundShare
from orders.desk.table import report_lines
from orders.planning.models import Season
from orders.planning.selectors import plan_run_get, season_by_name
from orders.reports.costs import cents_text, cost_report_csv
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import orders_of
from orders.workorders.statement_documents import statement_prefilled, statement_read

Options = dict[str, Any]
Step = Callable[[Stamp, Options], Iterator[str]]


def _actor(stamp: Stamp) -> Any:
    return stamp.by


def _order(stamp: Stamp, options: Options) -> WorkOrder:
    found = orders_of(_actor(stamp), on=stamp.at.date()).filter(number=options["number"]).first()
    if found is None:
        raise NotFound(f"There is no work order {options['number']}.")
    return found


def _season(options: Options) -> Season:
    return season_by_name(options["season"])


def estimate(stamp: Stamp, options: Options) -> Iterator[str]:
    made = flow.estimate_patches(on=stamp.at.date(), stamp=stamp)
    yield f"{len(made)} estimates of {len({row.survey_id for row in made})} patches"


def prescribe(stamp: Stamp, options: Options) -> Iterator[str]:
    for row in flow.prescribe_season(season=_season(options), stamp=stamp):
        yield f"{row.patch}: {row.method.name}, {row.first_day} to {row.last_day}. {row.why}"


def plan(stamp: Stamp, options: Options) -> Iterator[str]:
    """In this process, so that no worker is needed; one that is running may take the row first, and that is as good."""
    run: Run = flow.plan_season(season=_season(options), iterations=options["rounds"], stamp=stamp)
    attempt = run_claim(run, at=stamp.at)
    if attempt is not None:
        run_perform(run, attempt, clock=lambda: stamp.at)
    done = plan_run_get(run.public_id)
    yield f"run {done.public_id}: {done.state}, {done.visits.count()} visits"
    for left in done.left_out:
        yield f"left out: {left['patch']}, {left['method']}: {left['because']}"


def accept(stamp: Stamp, options: Options) -> Iterator[str]:
    shares = [_share(text) for text in options["fund"]]
    for order in flow.accept_plan(run=plan_run_get(UUID(options["run"])), funding=shares, stamp=stamp):
        yield f"work order {order.number}: {order.crew}, {order.site}, {order.first_day} to {order.last_day}"


def _share(text: str) -> FundShare:
    """CODE, or CODE:PERCENT."""
    code, _, percent = text.partition(":")
    try:
        share_e4 = int(Decimal(percent or "100") * 100)
    except InvalidOperation:
        raise Invalid("The percent cannot be read.", [FieldError("fund", f"{percent!r} is no number")]) from None
    return FundShare(fund=fund_by_code(code), award=None, share_e4=share_e4)


def issue(stamp: Stamp, options: Options) -> Iterator[str]:
    yield f"{flow.issue_order(order=_order(stamp, options), stamp=stamp)} is issued"


def start(stamp: Stamp, options: Options) -> Iterator[str]:
    yield f"{flow.start_order(order=_order(stamp, options), stamp=stamp)} is underway"


def statement(stamp: Stamp, options: Options) -> Iterator[str]:
    yield json.dumps(statement_prefilled(_order(stamp, options), happened_at=stamp.at), indent=1)


def close(stamp: Stamp, options: Options) -> Iterator[str]:
    order = _order(stamp, options)
    close_out = flow.close_order(order=order, statement=statement_read(options["file"]), stamp=stamp)
    yield f"{order} is closed, confirmed by {close_out.confirmed_by}"


def amend(stamp: Stamp, options: Options) -> Iterator[str]:
    order = _order(stamp, options)
    close_out = corrections.amend_close_out(order=order, statement=statement_read(options["file"]), stamp=stamp)
    yield f"{order}: close-out revision {close_out.revision}"


def void(stamp: Stamp, options: Options) -> Iterator[str]:
    yield f"{corrections.void_order(order=_order(stamp, options), stamp=stamp)} is void"


def report(stamp: Stamp, options: Options) -> Iterator[str]:
    shown = flow.report_costs(actor=_actor(stamp), by=options["by"])
    if options["csv"]:
        yield cost_report_csv(shown).rstrip("\r\n")
        return
    yield from report_lines(shown)
    yield f"Total actual: {cents_text(shown.total.actual_cents)} dollars"


STEPS: dict[str, Step] = {
    step.__name__: step
    for step in (estimate, prescribe, plan, accept, issue, start, statement, close, amend, void, report)
}
