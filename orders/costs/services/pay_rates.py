"""What people are paid, and the dated rules of pay, overtime, match and stock. Rows are added; the newest that has
begun counts. The change record says that pay changed, never what it is: it is read by more people than finance."""

from datetime import date
from zoneinfo import available_timezones

from django.conf import settings
from django.db.models import Q

from estimating.burden import YEAR_HOURS, loaded_rate_e4
from estimating.errors import InvalidFact
from estimating.pay_types import PayRules
from orders.common.changes import change_record
from orders.common.errors import Refusal
from orders.common.rows import Findings, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import CompTimeAgreement, MatchRate, OvertimeRule, PayPolicy, PayRate, StockPolicy, StockValue
from orders.costs.pay_selectors import pay_policy
from orders.costs.services.reposting import labor_repost
from orders.crews.models import LaborRole, Person
from orders.sites.models import Jurisdiction

UNRECORDED = frozenset({"rate_e4", "wage_e4", "fringe_e4", "yearly_cents", "paid_hours", "productive_hours"})


class AgreementEnded(Refusal):
    """An agreement ends once."""

    code = "agreement_ended"
    title = "The agreement has ended"


@writing()
def pay_rate_set(
    *,
    stamp: Stamp,
    person: Person,
    from_day: date,
    rate_e4: int | None = None,
    role: LaborRole | None = None,
    wage_e4: int | None = None,
    fringe_e4: int | None = None,
    yearly_cents: int | None = None,
    paid_hours: int | None = None,
    productive_hours: int | None = None,
) -> PayRate:
    """Set what a person costs an hour from a day on, in one role or in any: by a rate alone, by rate and wage, or by
    the wage and what comes on top of it, from which the rate is figured. Days that are posted already are posted anew
    at it, in the open month."""
    found = Findings()
    same = PayRate.objects.filter(person=person, from_day=from_day, role=role)
    found.need(not same.exists(), "from_day", "This person has such a rate from that day already.")
    row = PayRate(
        person=person,
        role=role,
        from_day=from_day,
        rate_e4=rate_e4 or 0,
        wage_e4=wage_e4,
        fringe_e4=fringe_e4,
        yearly_cents=yearly_cents,
        paid_hours=paid_hours,
        productive_hours=productive_hours,
    )
    _rate_fill(row, rate_e4, found)
    row_add(row, stamp=stamp, verb="pay_rate_set", findings=found, leave_out=UNRECORDED)
    today = stamp.local_date(settings.PROGRAM_TIME_ZONE)
    labor_repost(person=person, from_day=from_day, posted_on=today, stamp=stamp)
    return row


def _rate_fill(row: PayRate, given: int | None, found: Findings) -> None:
    """The rate from wage and terms, where it was not given by itself."""
    if given is not None:
        found.money(given, "rate_e4")
    is_loaded = any(
        term is not None for term in (row.fringe_e4, row.yearly_cents, row.paid_hours, row.productive_hours)
    )
    if row.wage_e4 is None:
        found.need(not is_loaded, "wage_e4", "What comes on top of a wage needs the wage.")
        found.need(given is not None, "rate_e4", "A rate, or a wage to figure it from.")
    elif given is not None and not is_loaded:
        found.need(given >= row.wage_e4, "rate_e4", "An hour cannot cost less than its wage.")
    else:
        _rate_figure(row, row.wage_e4, given, found)


def _rate_figure(row: PayRate, wage_e4: int, given: int | None, found: Findings) -> None:
    row.fringe_e4, row.yearly_cents = row.fringe_e4 or 0, row.yearly_cents or 0
    row.paid_hours = YEAR_HOURS if row.paid_hours is None else row.paid_hours
    row.productive_hours = row.paid_hours if row.productive_hours is None else row.productive_hours
    try:
        row.rate_e4 = loaded_rate_e4(
            wage_e4,
            fringe_e4=row.fringe_e4,
            yearly_cents=row.yearly_cents,
            paid_hours=row.paid_hours,
            productive_hours=row.productive_hours,
        )
    except InvalidFact as wrong:
        found.need(False, wrong.field or "", wrong.message)
        return
    found.need(given in {None, row.rate_e4}, "rate_e4", "The wage and what comes on top of it give another rate.")


@writing()
def pay_policy_set(
    *,
    stamp: Stamp,
    from_day: date,
    source: str,
    week_starts_on: int = 6,
    week_starts_minute: int = 0,
    time_zone: str = "America/Kentucky/Louisville",
    overtime_method: str = "weighted",
    rounding: str = "exact",
    spread: str = "week",
    punch_minutes: int = 0,
    premium_fringe_e4: int = 0,
    comp_time: bool = False,
) -> PayPolicy:
    """Set how the program pays from the first day of a workweek on. A workweek is fixed (29 CFR 778.105): a policy that
    began within one would split it."""
    found = Findings()
    found.need(time_zone in available_timezones(), "time_zone", "There is no such time zone.")
    found.need(
        from_day.weekday() == week_starts_on, "from_day", "A policy begins with a workweek: on the day the week starts."
    )
    row = PayPolicy(
        from_day=from_day,
        week_starts_on=week_starts_on,
        week_starts_minute=week_starts_minute,
        time_zone=time_zone,
        overtime_method=overtime_method,
        rounding=rounding,
        spread=spread,
        punch_minutes=punch_minutes,
        premium_fringe_e4=premium_fringe_e4,
        comp_time=comp_time,
        source=source,
    )
    return row_add(row, stamp=stamp, verb="pay_policy_set", findings=found, leave_out={"premium_fringe_e4"})


@writing()
def overtime_rule_set(
    *,
    stamp: Stamp,
    from_day: date,
    source: str,
    jurisdiction: Jurisdiction | None = None,
    week_minutes: int = PayRules.week_minutes,
    day_minutes: int | None = None,
    day_double_minutes: int | None = None,
    seventh_day: bool = False,
    reviewed_by: str = "",
) -> OvertimeRule:
    """Set when work becomes overtime in a jurisdiction, or everywhere, from a day on. Nobody may set the week's limit
    above the federal 40 h (29 USC 207(a))."""
    found = Findings()
    same = OvertimeRule.objects.filter(jurisdiction=jurisdiction, from_day=from_day)
    found.need(not same.exists(), "from_day", "There is such a rule from that day already.")
    try:
        PayRules(week_minutes, day_minutes, day_double_minutes, seventh_day)
    except InvalidFact as wrong:
        found.need(False, wrong.field or "", wrong.message)
    row = OvertimeRule(
        jurisdiction=jurisdiction,
        from_day=from_day,
        week_minutes=week_minutes,
        day_minutes=day_minutes,
        day_double_minutes=day_double_minutes,
        seventh_day=seventh_day,
        reviewed_by=reviewed_by,
        source=source,
    )
    return row_add(row, stamp=stamp, verb="overtime_rule_set", findings=found)


@writing()
def comp_time_agree(
    *, stamp: Stamp, person: Person, first_day: date, reference: str, last_day: date | None = None
) -> CompTimeAgreement:
    """Record that a person takes time off instead of the overtime premium, agreed before the work (29 USC 207(o), from
    memory: public agencies alone). The pay policy of the first day must allow it."""
    found = Findings()
    found.days_in_order(first_day, last_day)
    allowed = pay_policy(first_day).comp_time
    found.need(allowed, "first_day", "The pay policy of that day does not allow time off instead of overtime pay.")
    running = CompTimeAgreement.objects.filter(Q(last_day=None) | Q(last_day__gte=first_day), person=person)
    if last_day is not None:
        running = running.filter(first_day__lte=last_day)
    found.need(not running.exists(), "person", "This person has an agreement on some of these days.")
    row = CompTimeAgreement(person=person, first_day=first_day, last_day=last_day, reference=reference)
    return row_add(row, stamp=stamp, verb="comp_time_agree", findings=found)


@writing()
def comp_time_end(*, stamp: Stamp, agreement: CompTimeAgreement, last_day: date) -> CompTimeAgreement:
    """End an agreement that runs without an end: its last day."""
    found = Findings()
    found.days_in_order(agreement.first_day, last_day)
    found.refuse("The agreement was not ended.")
    running = CompTimeAgreement.objects.filter(pk=agreement.pk, last_day=None)
    if running.update(last_day=last_day) != 1:
        raise AgreementEnded("This agreement has its last day already; agree anew for days after it.")
    agreement.last_day = last_day
    after = {"last_day": last_day.isoformat()}
    change_record(stamp=stamp, verb="comp_time_end", entity=agreement, before={"last_day": None}, after=after)
    return agreement


@writing()
def match_rate_set(
    *,
    stamp: Stamp,
    person_type: str,
    role: LaborRole,
    from_day: date,
    rate_e4: int,
    source: str,
    fringe_e4: int = 0,
) -> MatchRate:
    """Set what an hour of a volunteer, or of another employer's staff, counts as match in a role from a day on: what
    the program itself pays for such work (2 CFR 200.306(e))."""
    found = Findings()
    found.money(rate_e4, "rate_e4")
    found.money(fringe_e4, "fringe_e4")
    same = MatchRate.objects.filter(person_type=person_type, role=role, from_day=from_day)
    found.need(not same.exists(), "from_day", "This role has such a rate from that day already.")
    row = MatchRate(
        person_type=person_type, role=role, from_day=from_day, rate_e4=rate_e4, fringe_e4=fringe_e4, source=source
    )
    return row_add(row, stamp=stamp, verb="match_rate_set", findings=found, leave_out=UNRECORDED)


@writing()
def stock_policy_set(*, stamp: Stamp, from_day: date, valuation: str, source: str) -> StockPolicy:
    """Set how stock that leaves is valued from a day on."""
    found = Findings()
    valued = StockValue.objects.filter(movement__on__gte=from_day).exists()
    found.need(not valued, "from_day", "Stock that moved on that day or later has been valued.")
    row = StockPolicy(from_day=from_day, valuation=valuation, source=source)
    return row_add(row, stamp=stamp, verb="stock_policy_set", findings=found)
