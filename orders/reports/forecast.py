"""What each fund will have paid when a season ends, with a range and the chance of overspending its budget.

Spent is the ledger's cost of the season's orders, and of what belongs to no order on the season's days. Committed is
what issued and underway orders were planned to cost, with the spread of their estimates. Planned is what an accepted
plan holds that is on no issued order yet.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db.models import Q, Sum

from estimating.forecast import Coming, Forecast, forecast
from orders.common.models import User
from orders.costs.models import Commitment, Fund, LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.planning.models import Prescription, Season, SeasonFund
from orders.planning.selectors import seasons
from orders.planning.totals import Asked as Wanted
from orders.planning.totals import asked_of
from orders.reports.asking import asked_read
from orders.reports.lines import Line
from orders.reports.table import Column, Table

CENTS = 100
NO_FUND = "No fund"
NO_BUDGET = "no budget for this season"

COLUMNS = (
    Column("fund", "Fund", "text"),
    Column("spent_cents", "Spent", "cents", total=True),
    Column("committed_cents", "Committed", "cents", total=True),
    Column("planned_cents", "Planned", "cents", total=True),
    Column("low_cents", "Low", "cents"),
    Column("likely_cents", "Likely", "cents"),
    Column("high_cents", "High", "cents"),
    Column("budget_cents", "Budget", "cents"),
    Column("chance_over", "Chance of overspending", "percent"),
)


@dataclass
class Course:
    """A fund's season: cents so far and to come, and the pieces of what is to come."""

    spent_cents: int = 0
    committed_cents: int = 0
    planned_cents: int = 0
    coming: list[Coming] = field(default_factory=list)

    def ends(self) -> Forecast:
        return forecast(self.spent_cents / CENTS, self.coming)


def forecast_table(actor: User, query: Mapping[str, str]) -> Table:
    """Of the season that is asked for, else the latest."""
    costs_open_to(actor)
    season = asked_read(query).season or seasons().first()
    if season is None:
        return Table("Forecast", ("There is no season yet.",), COLUMNS, [])
    courses = fund_courses(season)
    budgets = dict(SeasonFund.objects.filter(season=season).values_list("code", "budget_cents"))
    rows = [_line(code, courses[code], budgets.get(code), season) for code in sorted(courses)]
    whole = Course(
        sum(one.spent_cents for one in courses.values()),
        sum(one.committed_cents for one in courses.values()),
        sum(one.planned_cents for one in courses.values()),
        [piece for one in courses.values() for piece in one.coming],
    )
    told = (
        "Low, likely and high are the 10, 50 and 90% points of the season's end; work of one method shares an error, "
        "so the points of funds do not add up to those of the whole.",
    )
    return Table(f"Forecast of {season}", told, COLUMNS, rows, ("Total", *_cells(whole, season.budget_cents)))


def _line(code: str, course: Course, budget_cents: int | None, season: Season) -> Line:
    return Line.of((code, *_cells(course, budget_cents)), by="fund", key=code, season=str(season.public_id))


def _cells(course: Course, budget_cents: int | None) -> tuple[int | float | str | None, ...]:
    ends = course.ends()
    points = tuple(round(point * CENTS) for point in (ends.low, ends.likely, ends.high))
    sums = (course.spent_cents, course.committed_cents, course.planned_cents)
    if budget_cents is None:
        return (*sums, *points, None, NO_BUDGET)
    return (*sums, *points, budget_cents, ends.chance_over(budget_cents / CENTS) * 100)


def fund_courses(season: Season) -> dict[str, Course]:
    """By the fund's code."""
    codes = dict(Fund.objects.values_list("pk", "code"))
    courses: dict[str, Course] = defaultdict(Course)
    for fund, cents in _spent(season):
        courses[codes[fund]].spent_cents += cents
    estimates: dict[int | None, Wanted] = {row.pk: asked_of(row) for row in _prescriptions(season)}
    for fund, prescription, cents in _committed(season):
        course = courses[codes[fund]]
        course.committed_cents += cents
        course.coming.append(_coming(cents, estimates.get(prescription)))
    for wanted in estimates.values():
        if wanted.prescription.state == "planned":
            fund_of = wanted.prescription.fund
            course = courses[fund_of.code if fund_of else NO_FUND]
            cents = round(wanted.likely_dollars * CENTS)
            course.planned_cents += cents
            course.coming.append(_coming(cents, wanted))
    return dict(courses)


def _spent(season: Season) -> list[tuple[int, int]]:
    days = Q(order__isnull=True, work_date__gte=season.first_day, work_date__lte=season.last_day)
    rows = LedgerEntry.objects.filter(Q(order__season=season) | days, book="cost").order_by()
    return list(rows.values_list("fund_id").annotate(cents=Sum("amount_cents")))


def _committed(season: Season) -> list[tuple[int, int | None, int]]:
    """Of orders that are out and not closed; a void order's rows sum to nothing."""
    rows = Commitment.objects.filter(order__season=season, order__state__in=("issued", "underway")).order_by()
    return list(rows.values_list("fund_id", "prescription_id").annotate(cents=Sum("amount_cents")))


def _prescriptions(season: Season) -> list[Prescription]:
    rows = Prescription.objects.filter(season=season, state__in=("planned", "ordered")).order_by("id")
    rows = rows.select_related("estimate", "method", "fund")
    return list(rows.defer("estimate__inputs", "estimate__result"))


def _coming(cents: int, wanted: Wanted | None) -> Coming:
    """With the spread that the estimate's own low and high cost show; without an estimate it is taken as it stands."""
    likely = max(cents, 0) / CENTS
    if wanted is None:
        return Coming(likely, 0.0, 0.0, "")
    own, shared = wanted.cost_parts
    return Coming(likely, own, shared, wanted.prescription.method.code)
