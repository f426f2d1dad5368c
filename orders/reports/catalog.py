"""Every report by its code: what it answers, whom it opens to, what it may be asked, and its table.

Screens, files, mails and the API all make a report by `report_table`, so that they show the same figures.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from orders.common.errors import FieldError, Invalid, NotFound, RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE, PESTICIDE_SUPERVISOR
from orders.reports import accuracy, match, unit_costs
from orders.reports import variance as variances
from orders.reports.asking import WRONG
from orders.reports.cost_table import USUAL_CUT, cost_table
from orders.reports.cube import DIMENSIONS
from orders.reports.forecast import forecast_table
from orders.reports.ledger_tables import commitments_table, ledger_table, trial_balance_table
from orders.reports.standing import (
    award_table,
    effort_table,
    held_table,
    purchase_list_table,
    spending_table,
    stock_table,
)
from orders.reports.table import Table

Query = Mapping[str, str]
MONEY = frozenset({FINANCE, ADMINISTRATOR})
PLACES = ("season", "fund", "award", "site", "method", "crew", "category")
MONTHS = ("month_from", "month_to", "basis")


@dataclass(frozen=True)
class Report:
    """`filters` are the words that it may be asked by; `unsaid` says what leaving one out means, where that is not
    everything. `cuts`: what `by` (and `and`) may name. `behind`: the page that a line opens to; the words that ask for
    it stand on the line (`Line.behind`). `drawn`: the columns that are drawn, one to three."""

    code: str
    name: str
    about: str
    table: Callable[[User, Query], Table]
    filters: tuple[str, ...]
    roles: frozenset[str] = MONEY
    cuts: Mapping[str, str] = field(default_factory=dict)
    usual_cut: str = ""
    behind: str = ""
    drawn: tuple[str, ...] = ()
    unsaid: Mapping[str, str] = field(default_factory=dict)
    empty: str = "Planned cost appears when a work order is issued; actual cost when its crew closes it."
    has_own_address: bool = False  # in the API, with more than a table can say


LATEST = {"season": "The latest season"}
COST_CUTS = {code: dimension.heading for code, dimension in DIMENSIONS.items()}

REPORTS = {
    report.code: report
    for report in (
        Report(
            code="cost",
            name="Cost",
            about="What was planned and what it cost, cut by one or two of fund, award, site, method and more.",
            table=cost_table,
            filters=("by", "and", *PLACES, *MONTHS),
            cuts=COST_CUTS,
            usual_cut=USUAL_CUT,
            behind="rows",
            drawn=("planned_cents", "actual_cents"),
        ),
        Report(
            code="variance",
            name="Planned against actual",
            about="Why costs differ from plan: price, hours, quantity, and what was not done.",
            table=variances.variance_table,
            filters=("by", *PLACES, *MONTHS),
            cuts=COST_CUTS,
            usual_cut=variances.USUAL_CUT,
            behind="rows",
            drawn=("planned_cents", "actual_cents"),
        ),
        Report(
            code="unit-cost",
            name="Unit cost",
            about="What an acre of treated ground cost, and a square meter of cover that is gone.",
            table=unit_costs.unit_cost_table,
            filters=("by", "season", "site", "method", "crew", "category"),
            cuts={code: COST_CUTS[code] for code in unit_costs.CUTS},
            usual_cut=unit_costs.USUAL_CUT,
            behind="rows",
            drawn=("acre_cents",),
        ),
        Report(
            code="forecast",
            name="Forecast",
            about="What each fund will have paid when the season ends, and the chance that it passes its budget.",
            table=forecast_table,
            filters=("season",),
            unsaid=LATEST,
            drawn=("low_cents", "likely_cents", "high_cents"),
        ),
        Report(
            code="spending",
            empty="Funds and budgets are set on the page Funds.",
            name="Left to spend",
            about="Limits of funds, awards and budgets, less what was spent and what is committed.",
            table=spending_table,
            filters=("fund",),
            drawn=("limit_cents", "actual_cents"),
        ),
        Report(
            code="award",
            empty="Awards are added on the page of the fund that they are paid through.",
            name="Awards",
            about="What each award was charged, what is left of it, and how much match it was given.",
            table=award_table,
            filters=("fund", "award", "on"),
            behind="ledger",
            drawn=("ceiling_cents", "total_cents"),
        ),
        Report(
            code="match",
            empty="Match appears when a crew closes an order on which volunteers or loaned staff worked.",
            name="In-kind match",
            about="Hours that volunteers and loaned staff gave, what they are worth, and what is still to be earned.",
            table=match.match_table,
            filters=("by", "award", "site", "crew", *MONTHS),
            cuts=match.CUTS,
            usual_cut=match.USUAL_CUT,
            behind="ledger",
            drawn=("value_cents",),
        ),
        Report(
            code="effort",
            empty="Statements of effort are made on the page Effort, for the days of a pay period.",
            name="Effort",
            about="How people's paid time fell on funds and awards, as they confirmed it.",
            table=effort_table,
            filters=("month_from", "month_to"),
        ),
        Report(
            code="stock",
            empty="Stock appears when a lot is received, on the page Stock.",
            name="Stock on hand",
            about="What product there was on a day, by lot, and what it was worth.",
            table=stock_table,
            filters=("on",),
            drawn=("value_cents",),
        ),
        Report(
            code="purchase-list",
            empty="Nothing that is still to be done takes any product.",
            name="To buy",
            about="What a season's work still needs that is not in stock, in whole containers at least cost.",
            table=purchase_list_table,
            filters=("season", "on"),
            unsaid=LATEST,
        ),
        Report(
            code="accuracy",
            empty="Orders are judged once their crews have closed them with measured hours.",
            name="Accuracy",
            about="How good a season's estimates were, against the hours that crews measured.",
            table=accuracy.accuracy_table,
            filters=("by", "season"),
            roles=MONEY | {COORDINATOR, PESTICIDE_SUPERVISOR},
            cuts=accuracy.GROUPS,
            usual_cut=accuracy.USUAL_GROUP,
            drawn=("estimated_minutes", "actual_minutes"),
            unsaid=LATEST,
            has_own_address=True,
        ),
        Report(
            code="held",
            empty="No charge waits: every one stands with a fund that may take it.",
            name="Held charges",
            about="What no fund or award could take as it was meant, and waits for finance to say who pays.",
            table=held_table,
            filters=("fund",),
        ),
        Report(
            code="trial-balance",
            name="Trial balance",
            about="Debits and credits of each account in each month; both sides of the ledger are equal.",
            table=trial_balance_table,
            filters=("fund", "award", "account", "book", *MONTHS),
            behind="ledger",
        ),
        Report(
            code="ledger",
            name="Ledger",
            about="Every row of the ledger as it was posted, with what it takes back and why.",
            table=ledger_table,
            filters=(*PLACES, "account", "book", *MONTHS),
        ),
        Report(
            code="commitments",
            empty="Cost is committed when a work order is issued or a purchase approved.",
            name="Commitments",
            about="What issued orders were planned to cost, row by row.",
            table=commitments_table,
            filters=(*PLACES, *MONTHS),
        ),
    )
}


def report_named(code: str) -> Report:
    if code not in REPORTS:
        raise NotFound("There is no such report.")
    return REPORTS[code]


def report_open_to(actor: User, code: str) -> Report:
    """The report, or a refusal."""
    report = report_named(code)
    if not actor.has_role(*report.roles):
        named = sorted(role.replace("_", " ") for role in report.roles)
        raise RoleMissing(f"This report is open to these roles: {', '.join(named)}.")
    return report


def reports_open_to(actor: User) -> list[Report]:
    return [report for report in REPORTS.values() if actor.has_role(*report.roles)]


def report_table(actor: User, code: str, query: Query) -> Table:
    report = report_open_to(actor, code)
    cuts = {"by": query.get("by"), "and": query.get("and")} if report.cuts else {}
    wrong = [name for name, cut in cuts.items() if cut and cut not in report.cuts]
    if wrong:
        raise Invalid(WRONG, [FieldError(name, f"must be one of {', '.join(report.cuts)}") for name in wrong])
    return report.table(actor, {name: text for name, text in query.items() if name in report.filters})
