"""The steps of the main job as the terminal takes them: each a call of the flow and the lines that tell of it."""

import json
from collections.abc import Callable, Iterator
from decimal import Decimal, InvalidOperation
from typing import Any

from orders import corrections, flow
from orders.calibration.selectors import calibration_run_get
from orders.calibration.services import calibration_ask, calibration_draft_book
from orders.common.errors import FieldError, Invalid
from orders.common.models import Run
from orders.common.runs import run_claim, run_perform
from orders.common.stamp import Stamp
from orders.costs.selectors import fund_by_code
from orders.costs.services.entries import Payer
from orders.desk.calibration_lines import accuracy_lines, calibration_lines
from orders.desk.season_steps import SEASON_STEPS, actor, id_of, season
from orders.desk.table import preview_lines, report_lines
from orders.estimates.services import estimates_store
from orders.planning.choosing import choice_batch_undo
from orders.planning.overview import PatchQuestion
from orders.planning.preview import ChoiceAsk
from orders.planning.selectors import choice_batch_get, plan_run_get
from orders.reports.accuracy import accuracy_report
from orders.reports.cells import cents_text
from orders.reports.costs import cost_report_csv
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_by_number
from orders.workorders.statement_documents import statement_prefilled, statement_read

Options = dict[str, Any]
Step = Callable[[Stamp, Options], Iterator[str]]


def _order(stamp: Stamp, options: Options) -> WorkOrder:
    return order_by_number(actor(stamp), options["number"], on=stamp.at.date())


def estimate(stamp: Stamp, options: Options) -> Iterator[str]:
    ready = flow.estimates_ready(on=stamp.at.date(), crew_kind=options["crews"])
    made = estimates_store(computed=ready, stamp=stamp)
    yield f"{len(made)} estimates of {len({row.survey_id for row in made})} patches"
    yield from map(str, ready.left_out)


def prescribe(stamp: Stamp, options: Options) -> Iterator[str]:
    for row in flow.prescribe_season(season=season(options), stamp=stamp):
        yield f"{row.patch}: {row.method.name}, {row.first_day} to {row.last_day}. {row.why}"


def choose(stamp: Stamp, options: Options) -> Iterator[str]:
    asked, on = season(options), stamp.at.date()
    question = PatchQuestion(site=options["site"], recommended=options["recommended"], text=options["text"])
    lines = flow.patches_asked(question=question, season=asked, on=on)
    ask = ChoiceAsk(
        season=asked,
        method=options["method"],
        patches=lines.patches(),
        why=stamp.reason,
        replace=not options["keep"],
        asked=question.words(),
    )
    preview = flow.preview_choices(ask=ask, on=on)
    yield from preview_lines(preview)
    if not options["preview"]:
        batch = flow.choose_methods(ask=ask, on=on, fingerprint=preview.fingerprint, stamp=stamp)
        yield f"choice {batch.public_id} is made; `work undo` with this id puts it back"


def undo(stamp: Stamp, options: Options) -> Iterator[str]:
    batch = choice_batch_undo(batch=choice_batch_get(id_of(options["batch"], "batch")), stamp=stamp)
    yield f"choice {batch.public_id} is undone"


def accept(stamp: Stamp, options: Options) -> Iterator[str]:
    shares = [_share(text) for text in options["fund"]]
    for order in flow.accept_plan(run=plan_run_get(id_of(options["run"], "run")), funding=shares, stamp=stamp):
        yield f"work order {order.number}: {order.crew}, {order.site}, {order.first_day} to {order.last_day}"


def _share(text: str) -> Payer:
    """CODE, or CODE:PERCENT."""
    code, _, percent = text.partition(":")
    try:
        share_e4 = int(Decimal(percent or "100") * 100)
    except InvalidOperation:
        raise Invalid("The percent cannot be read.", [FieldError("fund", f"{percent!r} is no number")]) from None
    return Payer(fund=fund_by_code(code), award=None, share_e4=share_e4)


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
    shown = flow.report_costs(actor=actor(stamp), by=options["by"])
    if options["csv"]:
        yield cost_report_csv(shown)
        return
    yield from report_lines(shown)
    yield f"Total actual: {cents_text(shown.total.actual_cents)} dollars"


def calibrate(stamp: Stamp, options: Options) -> Iterator[str]:
    """In this process, as `plan` does. Nothing moves by it: a draft is asked for with --draft."""
    run: Run = calibration_ask(season=season(options), crew_kind=options["crews"], stamp=stamp)
    attempt = run_claim(run, at=stamp.at)
    if attempt is not None:
        run_perform(run, attempt, clock=lambda: stamp.at)
    done = calibration_run_get(run.public_id)
    yield from calibration_lines(done)
    if options["draft"]:
        yield f"draft: {calibration_draft_book(run=done, stamp=stamp)}"


def accuracy(stamp: Stamp, options: Options) -> Iterator[str]:
    yield from accuracy_lines(accuracy_report(actor=actor(stamp), season=season(options), by=options["by"]))


STEPS: dict[str, Step] = {
    step.__name__: step
    for step in (
        estimate,
        prescribe,
        choose,
        undo,
        accept,
        issue,
        start,
        statement,
        close,
        amend,
        void,
        report,
        calibrate,
        accuracy,
        *SEASON_STEPS,
    )
}
