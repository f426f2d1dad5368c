"""Finance's part of the walk: who pays, what was bought, a training day, overtime, the proof, a month closed by two
people, hours for payroll, and files. All figures come from the services that the pages call."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from django.db.models import Sum

from orders import flow
from orders.common.errors import Refusal
from orders.common.tasks import run_work
from orders.costs.overtime_selectors import workweeks
from orders.costs.selectors import award_get, awards, fund_by_code, ledger
from orders.costs.services.awards import award_term_add
from orders.costs.services.bills import LineBilled, bill_add, bill_approve, bill_pay
from orders.costs.services.entries import WHOLE_E4, Payer
from orders.costs.services.funding import funding_rule_add
from orders.costs.services.payroll import pay_period_open, payroll_export
from orders.costs.services.periods import period_close_ask, period_close_confirm
from orders.costs.services.proof import proof_run
from orders.costs.services.purchases import LineAsked, purchase_approve, purchase_close, purchase_draft
from orders.costs.services.vendors import vendor_add
from orders.costs.spending import left_to_spend
from orders.crews.models import Crew
from orders.crews.selectors import crew_people
from orders.desk.demo.scene import Walk
from orders.field.models import DaySheet
from orders.field.services.daysheets import LineStated
from orders.reports.cells import cents_text
from orders.reports.models import ExportRun
from orders.reports.services import export_ask, handover_ask

TRAINING_DAY = date(2027, 1, 8)  # invented, like all that follows
TRAINING_MINUTES = 240
MONTH = date(2027, 1, 1)
PAY_PERIOD = (date(2027, 1, 3), date(2027, 1, 16))
RULES = "2 CFR 200.414(f) and 200.1, from October 2024; the award itself is invented"
MATCH_E4 = 2_000  # a fifth of what the award pays, invented


def who_pays(steps: Walk) -> None:
    """Before the season: the award's terms, and who pays for paid time that is no order."""
    finance = steps.stamp("finance")
    award = award_get(awards().get().public_id)
    figures = {"indirect_e4": 1_500, "subaward_cap_cents": 5_000_000, "equipment_threshold_cents": 1_000_000}
    award_term_add(
        award=award,
        from_day=award.first_day,
        ruleset="federal-2024-10",
        source=RULES,
        figures={**figures, "match_e4": MATCH_E4, "match_cents": 0},
        indirect_base="mtdc",
        stamp=finance,
    )
    shares = [Payer(fund_by_code("OPS"), None, WHOLE_E4)]
    funding_rule_add(name="Paid time that is no order", from_day=MONTH, shares=shares, stamp=finance)


def training_day(steps: Walk) -> None:
    """Half a day that is no order, on every day sheet of a crew."""
    crew = Crew.objects.get(name="Hollow crew")
    people = crew_people(crew, TRAINING_DAY)
    at = datetime.combine(TRAINING_DAY, time(21), tzinfo=UTC)
    for person in people:
        sheet = DaySheet(
            at=at, crew=crew, person=person, work_date=TRAINING_DAY, rule="minutes", confirmed_by=person.name
        )
        lines = [LineStated(code="training", minutes=TRAINING_MINUTES, origin="typed", note="Saw refresher")]
        flow.confirm_day_sheet(sheet=sheet, lines=lines, stamp=steps.stamp("coordinator", at))
    posted = ledger(steps.user("finance")).filter(source_kind="day_line")
    told = f"{len(people)} day sheets with half a day of training, which is no order"
    steps.tell(f"Day sheets {told}: {_sum(posted)} dollars, paid by the rule for such time")


def money(steps: Walk) -> None:
    """After the season."""
    overtime(steps)
    bought(steps)
    month(steps)
    payroll(steps)
    files(steps)


def overtime(steps: Walk) -> None:
    weeks = [row for row in workweeks(steps.user("finance")) if row.premium_cents]
    premium = sum(row.premium_cents for row in weeks)
    again = sum(1 for row in weeks if row.revision > 1)
    steps.tell(
        f"Overtime   {len(weeks)} workweeks above 40 h: {cents_text(premium)} dollars of premium, each spread over its "
        f"week's orders; {again} were taken back and posted anew when more hours came"
    )


def bought(steps: Walk) -> None:
    """A contractor's job: ordered, committed, billed, paid, and the rest let go."""
    finance = steps.stamp("finance", _after(steps))
    today = finance.at.date()
    vendor = vendor_add(stamp=finance, name="Alder Bend Land Care (invented)", kind="contractor")
    fund = fund_by_code("OPS")
    asked = LineAsked(
        category="contract", description="Mow the access lane at Sorrel Glade", amount_cents=180_000, fund=fund
    )
    order = purchase_draft(stamp=finance, vendor=vendor, ordered_on=today, lines=[asked])
    order = purchase_approve(purchase=order, posted_on=today, stamp=finance)
    left = _left(steps)
    line = LineBilled(
        category="contract",
        description="Mowing, one pass",
        amount_cents=164_250,
        fund=fund,
        purchase_line=order.lines.get(),
    )
    bill = bill_add(
        stamp=finance,
        vendor=vendor,
        number="AB-1107",
        billed_on=today,
        worked_on=today,
        total_cents=164_250,
        lines=[line],
        purchase_order=order,
    )
    bill = bill_approve(bill=bill, posted_on=today, stamp=finance)
    bill_pay(bill=bill, paid_on=today, posted_on=today, stamp=finance)
    purchase_close(purchase=order, posted_on=today, stamp=finance)
    steps.tell(
        f"Bought     purchase order {order.number} over 1800.00 left {left} of General operations to spend; "
        f"its bill of 1642.50 is paid and the rest let go: {_left(steps)}"
    )


def month(steps: Walk) -> None:
    """Proven, then closed by two people; what is amended later goes to the next open month."""
    at = _after(steps)
    proof = proof_run(at=at, by=steps.user("finance"))
    good = sum(1 for check in proof.checks if check["good"])
    steps.tell(f"Proof      {proof.rows_count} ledger rows, {good} of {len(proof.checks)} checks good")
    if not proof.is_good:
        raise Refusal(f"The ledger is not proven: {[check for check in proof.checks if not check['good']]}")
    asked = period_close_ask(month=_first_month(steps), stamp=steps.stamp("finance", at))
    try:
        period_close_confirm(period=asked, stamp=steps.stamp("finance", at))
    except Refusal as refused:
        steps.tell(f"Month end  {asked}: {refused.detail}")
    closed = period_close_confirm(period=asked, stamp=steps.stamp("administrator", at))
    steps.tell(f"           {closed} is closed, {closed.rows_count} rows, asked by finance and confirmed by another")


def payroll(steps: Walk) -> None:
    first, last = PAY_PERIOD
    at = _after(steps)
    period = pay_period_open(first_day=first, last_day=last, stamp=steps.stamp("finance", at))
    told = payroll_export(period=period, stamp=steps.stamp("finance", at))
    hours = (told.lines.exclude(code="comp").aggregate(minutes=Sum("minutes"))["minutes"] or 0) / 60
    people = told.lines.values("person").distinct().count()
    steps.tell(f"Payroll    {hours:,.2f} h of {people} people told for {told}, and locked")


def files(steps: Walk) -> None:
    """A spreadsheet of cost by fund and category, and the month's package, as the background worker makes them."""
    finance = replace(steps.stamp("finance", _after(steps)))
    asked = [
        export_ask(report="cost", query={"by": "fund", "and": "category"}, file_format="xlsx", stamp=finance),
        handover_ask(month=_first_month(steps), stamp=finance),
    ]
    for run in asked:
        run_work(str(run.public_id))
        made = ExportRun.objects.get(pk=run.pk)
        if made.state != "done":
            raise Refusal(f"The file was not made: {made.error}")
        steps.tell(f"File       {made.file_name}, {made.size_bytes:,} bytes, sha256 {made.sha256[:12]}…")


def _after(steps: Walk) -> datetime:
    """The day after the last posting."""
    newest = ledger(steps.user("finance")).order_by("-posted_at").values_list("posted_at", flat=True)[0]
    return newest + timedelta(days=1)


def _first_month(steps: Walk) -> date:
    first: date = ledger(steps.user("finance")).order_by("posting_month").values_list("posting_month", flat=True)[0]
    return first


def _left(steps: Walk) -> str:
    rows = left_to_spend(steps.user("finance"), fund=fund_by_code("OPS"))
    return cents_text(next(row.left_cents or 0 for row in rows if row.kind == "fund"))


def _sum(rows: object) -> str:
    return cents_text(rows.aggregate(total=Sum("amount_cents"))["total"] or 0)  # type: ignore[attr-defined]
