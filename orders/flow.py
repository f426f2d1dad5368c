"""The main job from survey to cost, one short function a step: start reading here.

    survey -> estimate -> season plan -> work order -> close-out -> cost ledger -> report

Each step calls the writes of its stage and hands later stages' facts to earlier ones as plain values. Whoever calls
(API, pages, commands) calls these, so that no rule is written twice. Corrections are in corrections.py.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from uuid import UUID

from django.db.models import QuerySet

from estimating.labels import Finding
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.pay_selectors import pay_policy
from orders.costs.services.day_sheets import day_sheet_post
from orders.costs.services.entries import Payer
from orders.costs.services.overtime import close_out_weeks, overtime_refresh
from orders.costs.services.posting import close_out_post, commitments_post
from orders.costs.services.stock import stock_values_post
from orders.crews.models import Crew
from orders.estimates.again import Effect, rate_book_effect
from orders.estimates.models import Estimate, RateBook
from orders.estimates.selectors import estimates
from orders.estimates.services import (
    EstimatesComputed,
    estimates_compute,
    estimates_store,
    rate_book_put_in_force,
)
from orders.estimates.trying import Trial, Tried, estimate_tried
from orders.field.models import DaySheet
from orders.field.services.daysheets import LineStated, day_sheet_confirm
from orders.issuing import orders_draft
from orders.moving import orders_follow, visit_move_breaks, visit_move_by_hand
from orders.planning.again import replan_accept
from orders.planning.chains import follow_ups_date
from orders.planning.choosing import choices_make
from orders.planning.convert import demand_of
from orders.planning.figures import PlanFigures
from orders.planning.models import ChoiceBatch, PlanRun, Prescription, Season, Visit
from orders.planning.moving import Break
from orders.planning.one_pass import OnePass, one_pass
from orders.planning.options import PatchOptions, patch_options
from orders.planning.overview import PatchLine, PatchQuestion
from orders.planning.own_choice import prescribe_own
from orders.planning.patch_finder import PatchLines, patches_found
from orders.planning.prescribing import prescribe_recommended, recommended_rest
from orders.planning.preview import ChoiceAsk, ChoiceRow, LabelWord, Preview, choice_cells, choice_rows, choices_preview
from orders.planning.selectors import prescriptions
from orders.planning.services import plan_accept, plan_ask, plan_drop, visit_put_free
from orders.planning.what_if import WhatIf
from orders.planning.window_finder import windows_found
from orders.planning.window_list import WindowLine, WindowQuestion
from orders.planning.windows import SeasonWindows
from orders.reminders.services import deadlines_refresh
from orders.reports.costs import CostReport, cost_report
from orders.sites.models import Patch, Survey
from orders.sites.selectors import surveys_current
from orders.supplies.services import stock_move
from orders.workorders.closing import order_close
from orders.workorders.guards import issue_refuse, start_refuse
from orders.workorders.label_checks import TEMPERATURE, label_findings_for, label_findings_tried
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.selectors import order_prescriptions, repeat_years
from orders.workorders.services import order_issue, order_start
from orders.workorders.statements import Statement

LABEL_REFUSES = "A label forbids this here: there are no figures for it. What it says stands with its findings."


def estimate_patches(
    *, surveys: Iterable[Survey] | None = None, on: date, crew_kind: str = "staff", stamp: Stamp
) -> list[Estimate]:
    """Estimate every method that fits, for the newest survey of each patch (or those given), at the prices of a day."""
    return estimates_store(computed=estimates_ready(surveys=surveys, on=on, crew_kind=crew_kind), stamp=stamp)


def estimates_ready(
    *, surveys: Iterable[Survey] | None = None, on: date, crew_kind: str = "staff"
) -> EstimatesComputed:
    """The same computed and not stored, for those who must not hold the write lock meanwhile."""
    asked = list(surveys_current() if surveys is None else surveys)
    return estimates_compute(surveys=asked, on=on, repeat_years=repeat_years(on=on), crew_kind=crew_kind)


def try_estimate(*, estimate: Estimate, asked: Trial, on: date) -> tuple[Tried, tuple[Finding, ...]]:
    """The estimate under other conditions, and what the labels say of the mix then. Stores nothing.

    What a label forbids gets no figures: another mix that it refuses here, or a temperature outside its range.
    """
    tried = estimate_tried(estimate, asked, on)
    findings = label_findings_tried(tried.variant, on=on, air_temperature_f=tried.day.air_temperature_f)
    if any(not one.overridable and (tried.is_other_mix or one.code == TEMPERATURE) for one in findings):
        return tried.without_figures(LABEL_REFUSES), findings
    return tried, findings


@writing()
def put_rate_book_in_force(*, book: RateBook, from_day: date, stamp: Stamp) -> RateBook:
    """The draft takes over, unless it has no rates for a method that open prescriptions are by."""
    needed = {row.method.code for row in _not_ordered(book.crew_kind)}
    return rate_book_put_in_force(book=book, from_day=from_day, needed_methods=needed, stamp=stamp)


def rate_book_effect_on_open(*, book: RateBook, on: date) -> Effect:
    """What a rate book, a draft too, would change in the estimates that open prescriptions rest on. Stores nothing."""
    shares: dict[int, float] = {}
    made: dict[int, Estimate] = {}
    for row in _not_ordered(book.crew_kind):
        made.setdefault(row.estimate_id, row.estimate)
        shares[row.estimate_id] = shares.get(row.estimate_id, 0.0) + row.share_left
    return rate_book_effect(book, made.values(), on, shares)


def _not_ordered(crew_kind: str) -> QuerySet[Prescription]:
    """Prescriptions that no order holds yet, with their estimates; what is on an order keeps the figures it has."""
    related = "estimate__method", "estimate__rate_book", "estimate__survey__patch__site"
    asked = prescriptions().filter(state__in=["open", "planned"], estimate__rate_book__crew_kind=crew_kind)
    return asked.select_related(*related, "method").defer("estimate__result", "estimate__survey__geometry")


def prescribe_season(*, season: Season, seen: Preview | None = None, stamp: Stamp) -> list[Prescription]:
    """Prescribe the recommended methods wherever a patch has none yet in this season, with the reasons; seed deadlines
    of its years are computed first, since they cut windows short."""
    for year in range(season.first_day.year, season.last_day.year + 1):
        deadlines_refresh(year=year, stamp=stamp)
    return prescribe_recommended(
        season=season,
        repeat_years=repeat_years(on=season.first_day),
        label_word=_label_word(season, season.first_day),
        seen=seen,
        stamp=stamp,
    )


def preview_season(*, season: Season, progress: Callable[[int, int], None] | None = None) -> Preview:
    """What prescribing the season would choose, beside what the crews can give. Stores nothing."""
    on = season.first_day
    return recommended_rest(season, repeat_years(on=on), _label_word(season, on), progress)


@writing()
def prescribe_own_choice(
    *,
    season: Season,
    estimate: Estimate,
    first_day: date,
    last_day: date,
    window_because: str,
    why: str,
    on: date,
    stamp: Stamp,
) -> Prescription:
    """One estimate for a season by somebody's own choice, within suitability and the labels."""
    return prescribe_own(
        season=season,
        estimate=estimate,
        first_day=first_day,
        last_day=last_day,
        window_because=window_because,
        why=why,
        repeat_years=repeat_years(on=season.first_day),
        label_word=_label_word(season, on),
        stamp=stamp,
    )


def patches_asked(*, question: PatchQuestion, season: Season | None, on: date) -> PatchLines:
    """Surveyed patches with what is recommended and chosen there, narrowed and sorted by a question."""
    return patches_found(season, repeat_years(on=season.first_day if season else on), question)


def methods_side_by_side(*, patch: Patch, season: Season | None, on: date) -> PatchOptions:
    """Every method on one patch: what fits, what it takes, what cover it leaves and what the years ahead ask for."""
    return patch_options(patch, season, repeat_years(on=season.first_day if season else on), on)


def windows_asked(*, question: WindowQuestion, season: Season) -> Sequence[WindowLine]:
    """The windows of a season by patch and method, narrowed and sorted by a question."""
    return windows_found(season, repeat_years(on=season.first_day), question)


def worked_in_one_pass(*, patch: Patch, season: Season, on: date) -> OnePass | None:
    """What is saved where what is chosen on the patch and on ground that it shares is worked in one pass."""
    return one_pass(patch, season, repeat_years(on=season.first_day), on)


def methods_by_patch(*, ask: ChoiceAsk, on: date) -> list[tuple[PatchLine, list[ChoiceRow]]]:
    """The patches of a choice, each with every method side by side. Stores nothing."""
    return choice_cells(ask, repeat_years(on=ask.season.first_day), _label_word(ask.season, on))


def judge_choices(*, ask: ChoiceAsk, on: date) -> tuple[ChoiceRow, ...]:
    """What choosing would do patch by patch, without the season around it. Stores nothing."""
    return choice_rows(ask, repeat_years(on=ask.season.first_day), _label_word(ask.season, on))


def preview_choices(*, ask: ChoiceAsk, on: date) -> Preview:
    """What choosing a method on many patches would do, beside what the crews can give. Stores nothing."""
    return choices_preview(ask, repeat_years(on=ask.season.first_day), _label_word(ask.season, on))


@writing()
def choose_methods(
    *, ask: ChoiceAsk, on: date, fingerprint: str | None = None, public_id: UUID | None = None, stamp: Stamp
) -> ChoiceBatch:
    """Choose as a preview showed it; without its fingerprint, as things stand now."""
    seen = preview_choices(ask=ask, on=on).fingerprint if fingerprint is None else fingerprint
    return choices_make(
        ask=ask,
        repeat_years=repeat_years(on=ask.season.first_day),
        fingerprint=seen,
        label_word=_label_word(ask.season, on),
        public_id=public_id,
        stamp=stamp,
    )


def _label_word(season: Season, on: date) -> LabelWord:
    """What keeps an estimate from being chosen: limits of the label that nobody may let pass. The rest, and these
    again, are judged when the order is issued."""

    def said(asked: Sequence[Estimate]) -> dict[int, list[str]]:
        light = estimates().defer("result", "survey__patch__site__boundary")
        rows = light.filter(pk__in=[estimate.pk for estimate in asked])
        found = label_findings_for(rows, on=max(on, season.first_day))
        return {key: [one.message for one in findings if not one.overridable] for key, findings in found.items()}

    return said


def plan_season(
    *,
    season: Season,
    iterations: int = 0,
    exact_work: float = 0.0,
    seed: int = 0,
    public_id: UUID | None = None,
    stamp: Stamp,
) -> PlanRun:
    """Ask for a plan; a worker assigns visits to crews and days in the background. Orders stay as they are."""
    return plan_ask(
        season=season, iterations=iterations, exact_work=exact_work, seed=seed, public_id=public_id, stamp=stamp
    )


def plan_again(
    *,
    season: Season,
    iterations: int = 0,
    exact_work: float = 0.0,
    seed: int = 0,
    public_id: UUID | None = None,
    stamp: Stamp,
) -> PlanRun:
    """Ask for a plan after something changed: it moves as little as possible of what was not started."""
    return plan_ask(
        season=season,
        purpose="replan",
        iterations=iterations,
        exact_work=exact_work,
        seed=seed,
        public_id=public_id,
        stamp=stamp,
    )


def plan_what_if(
    *,
    season: Season,
    what: WhatIf,
    iterations: int = 0,
    exact_work: float = 0.0,
    seed: int = 0,
    public_id: UUID | None = None,
    stamp: Stamp,
) -> PlanRun:
    """Ask what a plan would come to with other crews, money or methods. It is only looked at."""
    return plan_ask(
        season=season,
        purpose="what_if",
        what=what,
        iterations=iterations,
        exact_work=exact_work,
        seed=seed,
        public_id=public_id,
        stamp=stamp,
    )


@writing()
def accept_plan(*, run: PlanRun, funding: Iterable[Payer] = (), stamp: Stamp) -> list[WorkOrder]:
    """Take a finished plan whole and draft its orders, one for each crew, site and week; with a plan made again, the
    orders that stand follow it. `funding` says who pays for the new orders; without it, the funds of their work do, or
    else a rule."""
    fingerprint = demand_of(run).fingerprint
    if run.purpose == "replan":
        visits = orders_follow(found=replan_accept(run=run, fingerprint=fingerprint, stamp=stamp), stamp=stamp)
    else:
        visits = plan_accept(run=run, fingerprint=fingerprint, stamp=stamp)
    return orders_draft(visits=visits, funding=funding, stamp=stamp)


def drop_plan(*, run: PlanRun, stamp: Stamp) -> PlanRun:
    """Set a plan aside as a whole; nothing but its proposals changes."""
    return plan_drop(run=run, stamp=stamp)


def compare_plans(*, runs: Iterable[PlanRun]) -> list[PlanFigures]:
    """Plans side by side, each by its own figures; those that are not done have none."""
    return [figures for run in runs if (figures := PlanFigures.of(run))]


def move_preview(*, visit: Visit, crew: Crew, day: date) -> tuple[Break, ...]:
    """What moving a visit by hand would break. Stores nothing."""
    return visit_move_breaks(visit=visit, crew=crew, day=day)


def move_visit(*, visit: Visit, crew: Crew, day: date, keep: bool, stamp: Stamp) -> Visit:
    """Move a visit by hand, its order with it. What it breaks needs a reason; a license, a label, a closure or an empty
    crew is refused. `keep`: new plans leave it there."""
    return visit_move_by_hand(visit=visit, crew=crew, day=day, keep=keep, stamp=stamp)


def put_visit_free(*, visit: Visit, stamp: Stamp) -> Visit:
    """New plans may move the visit again."""
    return visit_put_free(visit=visit, stamp=stamp)


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
    """One transaction: the close-out, what it took from stock, what it cost, what is left to do, and what follows."""
    close_out = order_close(order=order, statement=statement, stamp=stamp)
    stock_take(close_out, stamp=stamp)
    today = stamp.local_date(order.site.time_zone)
    stock_values_post(posted_on=today, stamp=stamp)
    close_out_post(close_out=close_out, posted_on=today, stamp=stamp)
    overtime_refresh(people_weeks=close_out_weeks([close_out]), posted_on=today, stamp=stamp)
    date_follow_ups(close_out=close_out, stamp=stamp)
    return close_out


@writing()
def confirm_day_sheet(*, sheet: DaySheet, lines: Sequence[LineStated], stamp: Stamp) -> DaySheet:
    """One transaction: a person's whole paid day, the cost of what of it is no order, and the overtime of its week."""
    kept = day_sheet_confirm(sheet=sheet, lines=lines, stamp=stamp)
    if kept is sheet:  # else it was heard before
        today = stamp.local_date(pay_policy(sheet.work_date).time_zone)
        day_sheet_post(sheet=sheet, posted_on=today, stamp=stamp)
        overtime_refresh(people_weeks=[(sheet.person, sheet.work_date)], posted_on=today, stamp=stamp)
    return kept


def date_follow_ups(*, close_out: CloseOut, stamp: Stamp) -> None:
    """What follows finished work in its chain is dated from the day on which it was really done."""
    order = close_out.order
    windows = SeasonWindows(order.season)
    for done in order_prescriptions(order).filter(state="done"):
        follow_ups_date(prescription=done, done_on=close_out.work_date, windows=windows, stamp=stamp)


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
