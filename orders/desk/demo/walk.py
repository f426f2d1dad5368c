"""The main job from survey to cost report, a line a stage, on the invented program."""

from collections import Counter
from collections.abc import Iterable
from contextlib import redirect_stdout
from datetime import UTC, datetime, time, timedelta
from io import StringIO

from django.db.models import Sum

from orders import corrections, flow
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.stamp import Stamp
from orders.costs.selectors import ledger
from orders.desk.demo.dispatch import dispatch
from orders.desk.demo.field_days import FieldDays, lead_of, mixes_of
from orders.desk.demo.ground import ground_past
from orders.desk.demo.intake import survey_files
from orders.desk.demo.learning import choose_and_undo, estimate_volunteers, learn
from orders.desk.demo.money import money, training_day, who_pays
from orders.desk.demo.packets import packets
from orders.desk.demo.planning import SICK_FROM, move_by_hand, plan, plan_again, what_ifs, windows
from orders.desk.demo.scene import FOLDER, Tell, Walk
from orders.desk.demo.season import Season, local_time
from orders.desk.demo.weather import weather
from orders.desk.program import program_load
from orders.planning.convert import season_hours
from orders.planning.models import PlanRun, Prescription
from orders.planning.models import Season as SeasonRow
from orders.reminders.selectors import deadlines_of
from orders.reminders.services import reminders_run
from orders.reports.cells import cents_text
from orders.reports.costs import CostReport
from orders.sites.models import SurveyImport
from orders.sites.services.surveys import survey_import_now
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visits
from orders.workorders.services import visit_not_done

RAIN_CHANCE = 0.15


def walk(tell: Tell) -> CostReport:
    """From an empty database to the season's cost report, which is returned."""
    steps = Walk(tell)
    load(steps)
    who_pays(steps)
    weather(steps)
    survey(steps)
    estimate(steps)
    choose_and_undo(steps)
    windows(steps)
    run = plan(steps)
    what_ifs(steps, run)
    issued = issue(steps, accept(steps, run))
    packets(steps)
    dispatch(steps, issued[0])
    move_by_hand(steps)
    training_day(steps)
    work(steps, issued)
    remind(steps)
    learn(steps)
    money(steps)
    survey_files(steps)
    ground_past(steps)
    return report(steps)


def load(steps: Walk) -> None:
    counts = program_load(FOLDER, stamp=Stamp(by=None, at=steps.at))
    shown = ", ".join(f"{counts[name]} {name.replace('_', ' ')}" for name in ("sites", "people", "crews", "products"))
    steps.tell(f"Program    {shown}, {counts['methods']} methods, {counts['rates']} rates. All of it is invented.")


def survey(steps: Walk) -> None:
    first = _import(steps, "survey.gpkg", "")
    steps.tell(f"Survey     {first.file_name}: {first.rows_added} surveys of patches from {first.rows_read} rows")
    county = _import(steps, "survey_2.zip", (FOLDER / "mapping_county.json").read_text(encoding="utf-8"))
    steps.tell(
        f"           {county.file_name}: {county.rows_added} re-surveyed, in feet and other columns, by a mapping"
    )
    again = _import(steps, "survey.gpkg", "")
    steps.tell(f"           {again.file_name} once more: {again.rows_added} added, {again.rows_known} known already")


def _import(steps: Walk, name: str, mapping: str) -> SurveyImport:
    data = (FOLDER / name).read_bytes()
    done = survey_import_now(
        data=data, file_name=name, mapping_text=mapping, stamp=steps.stamp("coordinator", now()), clock=now
    )
    if done.refused:
        raise Refusal(f"{name} was refused: {done.errors[:3]}")
    return done


def estimate(steps: Walk) -> None:
    made = flow.estimate_patches(on=steps.at.date(), stamp=steps.stamp("coordinator"))
    patches = len({row.survey_id for row in made})
    steps.tell(f"Estimate   {len(made)} estimates: every method that fits, on {patches} patches")
    estimate_volunteers(steps)
    season = SeasonRow.objects.get()
    chosen = flow.prescribe_season(season=season, stamp=steps.stamp("coordinator"))
    fit = season_hours(season)
    _deadlines(steps)
    hours = f"{fit.likely:,.0f} person-hours in the field, {fit.low:,.0f} to {fit.high:,.0f} (8 times in 10)"
    steps.tell(f"Prescribe  {len(chosen)} prescriptions for season {season.name}: {hours}")


def _deadlines(steps: Walk) -> None:
    """Seed deadlines stand from the survey on, with or without an order; the daily run tells each step once."""
    rows = deadlines_of(steps.user("coordinator"), on=steps.at.date())
    first = rows.order_by("due_on", "id").first()
    if first is None:
        raise Refusal("No climbing or sprawling component carries a seed deadline. The demo's survey has several.")
    shown = f"the first on {first.due_on} at {first.patch}"
    steps.tell(f"Deadlines  {rows.count()} seed deadlines of plants that may fruit, {shown}")


def accept(steps: Walk, run: PlanRun) -> list[WorkOrder]:
    orders = flow.accept_plan(run=run, stamp=steps.stamp("coordinator"))
    steps.tell(f"Orders     {len(orders)} drafted, one for each crew, site and week, each with the fund that pays it")
    return orders


def issue(steps: Walk, orders: list[WorkOrder]) -> list[WorkOrder]:
    """Orders whose site, licenses and label allow it; what was refused is told with its reason."""
    issued, refused = [], Counter[str]()
    for order in orders:
        try:
            issued.append(flow.issue_order(order=order, stamp=steps.stamp("coordinator")))
        except Refusal as refusal:
            refused[f"{order.site.name}: {_first_reason(refusal)}"] += 1
    steps.tell(f"Issue      {len(issued)} orders issued, {sum(refused.values())} refused")
    for reason, count in sorted(refused.items()):
        steps.tell(f"           {count} x {reason}")
    return issued


def _first_reason(refusal: Refusal) -> str:
    return refusal.errors[0].message if refusal.errors else refusal.detail


def work(steps: Walk, issued: list[WorkOrder]) -> None:
    """The season goes by: started, rained off now and then, closed by each crew's lead; in midsummer the plan is made
    again. One close-out is amended, one order void."""
    season = Season(steps.random)
    days = FieldDays(steps, season)
    counts = _work_orders(steps, days, [order for order in issued if order.last_day < SICK_FROM])
    days.tell()
    issue(steps, plan_again(steps))
    rest = list(WorkOrder.objects.filter(state="issued").order_by("first_day", "number"))
    last = rest.pop()
    waiting = _to_try(rest)
    counts += _work_orders(steps, days, [order for order in rest if order not in waiting])
    corrections.void_order(order=last, stamp=steps.stamp("coordinator", _morning(last), "The gate road washed out."))
    _amend_one(steps, season, issued[0])
    left = Prescription.objects.filter(origin="remainder").count()
    told = (
        f"{counts['closed']} orders closed, {counts['rained off']} rained off on one visit, 1 void, 1 close-out amended"
    )
    steps.tell(f"Work       {told}; {left} part-done prescriptions left over for later")
    numbers = ", ".join(f"{order.number} ({order.crew})" for order in waiting)
    steps.tell(f"           still open, for you to start and close: {numbers}")


def _to_try(orders: list[WorkOrder]) -> list[WorkOrder]:
    """What stays open for a visitor: each crew's last order, and the last with two mixes, for a day with the tablet."""
    last = {order.crew_id: order for order in orders}
    mixed = [order for order in orders if len(mixes_of(order)) > 1]
    return sorted({*last.values(), *mixed[-1:]}, key=lambda order: order.number)


def _work_orders(steps: Walk, days: FieldDays, orders: Iterable[WorkOrder]) -> Counter[str]:
    return Counter(_work_order(steps, days, order) for order in orders)


def _work_order(steps: Walk, days: FieldDays, order: WorkOrder) -> str:
    """What became of one order."""
    lead, season, visits = lead_of(order), days.season, list(order_visits(order))
    if days.takes(order, visits):
        days.work(order, visits[0])
        return "closed"
    flow.start_order(order=order, stamp=Stamp(by=lead, at=_morning(order)))
    rained = len(visits) > 1 and season.random.random() < RAIN_CHANCE
    if rained:
        visit_not_done(order=order, visit=visits[-1], stamp=Stamp(by=lead, at=_morning(order), reason="Heavy rain."))
    statement = season.statement(order)
    flow.close_order(order=order, statement=statement, stamp=Stamp(by=lead, at=statement.happened_at))
    return "rained off" if rained else "closed"


def _amend_one(steps: Walk, season: Season, order: WorkOrder) -> None:
    statement = season.statement_again(order)
    at = statement.happened_at + timedelta(days=2)
    reason = "The lead had left out the afternoon of one person."
    corrections.amend_close_out(order=order, statement=statement, stamp=Stamp(by=lead_of(order), at=at, reason=reason))


def _morning(order: WorkOrder) -> datetime:
    return local_time(order, order.first_day, 8)


def remind(steps: Walk) -> None:
    """The daily run on days before the first deadlines, one of them twice: a step is told once. One mail is shown."""
    rows = deadlines_of(steps.user("coordinator"), on=steps.at.date()).filter(kind="seed", state__in=["open", "missed"])
    first = rows.order_by("due_on", "id").first()
    if first is None:
        raise Refusal("All seed deadlines are met; the demo's season leaves some open on purpose.")
    due = datetime.combine(first.due_on, time(20), tzinfo=UTC)
    with redirect_stdout(StringIO()) as console:
        made = sum(len(reminders_run(at=due - timedelta(days=days)).notices) for days in (28, 14, 14, 7))
    steps.tell(
        f"Reminders  {made} notices before the first seed deadline still open, each step told once. The first mail:"
    )
    mail = console.getvalue().split("-" * 79)[0].splitlines()
    shown = [line for line in mail if line.startswith(("Subject:", "To:", "- ", "Because:", "What to do:"))]
    for line in shown[:6]:
        steps.tell(f"           | {line}")


def report(steps: Walk) -> CostReport:
    """All cost by site, reconciled with the ledger before it is shown."""
    finance = steps.user("finance")
    shown = flow.report_costs(actor=finance, by="site")
    spent = ledger(finance).filter(book="cost").aggregate(total=Sum("amount_cents"))["total"]
    if not sum(row.actual_cents for row in shown.rows) == shown.total.actual_cents == spent:
        raise Refusal("The report does not agree with the ledger. This is a fault of the program: please report it.")
    rows = ledger(finance).filter(book="cost").count()
    steps.tell(f"Ledger     {rows} rows of cost, {cents_text(spent)} dollars: the report below sums to it")
    return shown
