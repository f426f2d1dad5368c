"""The main job from survey to cost, one short function a step: start reading here.

    survey -> estimate -> season plan -> work order -> close-out -> cost ledger -> report

Each step calls the writes of its stage and hands later stages' facts to earlier ones as plain values. Whoever calls
(API, pages, commands) calls these, so that no rule is written twice. Corrections are in corrections.py.
"""

from collections.abc import Iterable
from datetime import date
from uuid import UUID

from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.services.posting import FundShare, close_out_post, commitments_post, order_fund
from orders.estimates.models import Estimate
from orders.estimates.selectors import rate_book_in_force
from orders.estimates.services import estimates_make
from orders.planning.convert import demand
from orders.planning.models import PlanRun, Prescription, Season
from orders.planning.prescribing import prescribe_recommended
from orders.planning.services import plan_accept, plan_ask
from orders.reminders.services import deadlines_refresh
from orders.reports.costs import CostReport, cost_report
from orders.sites.models import Survey
from orders.sites.selectors import surveys_current
from orders.supplies.services import stock_move
from orders.workorders.closing import order_close
from orders.workorders.grouping import visits_by_order
from orders.workorders.guards import issue_refuse, start_refuse
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.selectors import repeat_years
from orders.workorders.services import order_draft, order_issue, order_start
from orders.workorders.statements import Statement


def estimate_patches(*, surveys: Iterable[Survey] | None = None, on: date, stamp: Stamp) -> list[Estimate]:
    """Estimate every method that fits, for the newest survey of each patch (or those given), at the prices of a day."""
    asked = list(surveys_current() if surveys is None else surveys)
    return estimates_make(surveys=asked, on=on, repeat_years=repeat_years(on=on), stamp=stamp)


def prescribe_season(*, season: Season, stamp: Stamp) -> list[Prescription]:
    """Prescribe the recommended methods wherever a patch has none yet in this season, with the reasons; seed deadlines
    of its years are computed first, since they cut windows short."""
    for year in range(season.first_day.year, season.last_day.year + 1):
        deadlines_refresh(year=year, stamp=stamp)
    return prescribe_recommended(season=season, repeat_years=repeat_years(on=season.first_day), stamp=stamp)


def plan_season(*, season: Season, iterations: int = 0, public_id: UUID | None = None, stamp: Stamp) -> PlanRun:
    """Ask for a plan; a worker assigns visits to crews and days in the background."""
    return plan_ask(season=season, iterations=iterations, public_id=public_id, stamp=stamp)


@writing()
def accept_plan(*, run: PlanRun, funding: Iterable[FundShare] = (), stamp: Stamp) -> list[WorkOrder]:
    """Take a finished plan and draft its orders, one for each crew, site and week; `funding` says who pays for them."""
    now = demand(run.season, rate_book_in_force())
    visits = plan_accept(run=run, fingerprint=now.fingerprint, stamp=stamp)
    orders = [order_draft(visits=served, stamp=stamp) for served in visits_by_order(visits)]
    shares = list(funding)
    for order in orders if shares else []:
        order_fund(order=order, shares=shares, stamp=stamp)
    return orders


@writing()
def issue_order(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """Give the order to its crew, once site, licenses, label and funding allow it; its planned cost is committed."""
    issue_refuse(order, stamp=stamp)
    order_issue(order=order, stamp=stamp)
    commitments_post(order=order, stamp=stamp)
    return order


@writing()
def start_order(*, order: WorkOrder, stamp: Stamp) -> WorkOrder:
    """The crew is on site; its licenses are looked at again."""
    start_refuse(order, stamp=stamp)
    return order_start(order=order, stamp=stamp)


@writing()
def close_order(*, order: WorkOrder, statement: Statement, stamp: Stamp) -> CloseOut:
    """One transaction: the close-out, what it took from stock, what it cost, and what is left to do."""
    close_out = order_close(order=order, statement=statement, stamp=stamp)
    stock_take(close_out, stamp=stamp)
    close_out_post(close_out=close_out, posted_on=stamp.local_date(order.site.time_zone), stamp=stamp)
    return close_out


def stock_take(close_out: CloseOut, *, stamp: Stamp) -> None:
    """Each material use leaves its lot once, even below zero: a count sets that right."""
    for use in close_out.material_uses.select_related("lot__product").order_by("id"):
        stock_move(
            lot=use.lot,
            kind="use",
            amount=use.entered_value,
            unit=use.entered_unit,
            on=use.work_date,
            source_kind="material_use",
            source_id=use.public_id,
            stamp=stamp,
        )


def report_costs(*, actor: User, by: str, season: Season | None = None) -> CostReport:
    """Planned against actual, cut by order, site, method, fund or month; the total is the same whichever way."""
    return cost_report(actor=actor, by=by, season=season)
