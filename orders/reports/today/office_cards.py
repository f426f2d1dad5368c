"""What money and the program itself ask for: months, bills, held charges; runs that failed, logins without a role."""

from datetime import timedelta
from typing import Any

from django.db.models import Exists, OuterRef

from orders.calibration.models import CalibrationRun
from orders.common.models import User
from orders.common.models.run import FAILED
from orders.common.models.user import ADMINISTRATOR
from orders.costs.fund_selectors import held_charges
from orders.costs.models import OrderFunding
from orders.costs.month_selectors import months, proofs
from orders.costs.payroll_selectors import pay_periods
from orders.costs.purchase_selectors import bills
from orders.planning.models import PlanRun
from orders.reports.models import ExportRun
from orders.reports.today.cards import MONEY, Card, Line, Reader, Waiting, waiting_in, waiting_of
from orders.sites.models import SurveyImport
from orders.workorders.models import WorkOrder

ADMIN = frozenset({ADMINISTRATOR})
FAILED_SINCE = timedelta(days=7)
RUNS = (PlanRun, SurveyImport, CalibrationRun, ExportRun)
TO_FUND = ("draft", "issued", "underway")


def _months(reader: Reader) -> Waiting | None:
    """Months that are over and not closed, and those that wait for the second person."""
    this_month = reader.on.replace(day=1)
    rows = [row for row in months(reader.actor) if row.month < this_month and row.state != "closed"]
    rows.sort(key=lambda row: row.month)
    return waiting_in(rows, lambda row: Line(f"{row.month:%B %Y}", row.state_words.lower(), "months"), "months")


def _held(reader: Reader) -> Waiting | None:
    rows = held_charges(reader.actor).filter(state="waiting")
    return waiting_of(rows, lambda row: Line(str(row), page="held-charges"), "held-charges")


def _bills(state: str) -> Any:
    def find(reader: Reader) -> Waiting | None:
        rows = bills(reader.actor).filter(state=state)
        return waiting_of(rows, _bill, "bills", state=state)

    return find


def _bill(row: Any) -> Line:
    return Line(f"Bill {row.number}", row.vendor.name, "bill", row.public_id)


def _proof(reader: Reader) -> Waiting | None:
    newest = proofs(reader.actor).first()
    if newest is None or newest.is_good:
        return None
    return Waiting(1, [Line(f"Proof of {newest.ran_at:%Y-%m-%d}", page="proof", key=newest.public_id)], "proofs")


def _unfunded(reader: Reader) -> Waiting | None:
    funded = OrderFunding.objects.filter(order=OuterRef("pk"))
    rows = WorkOrder.objects.filter(~Exists(funded), state__in=TO_FUND).select_related("site")
    rows = rows.defer("site__boundary", "label", "instructions").order_by("first_day", "number")

    def line(row: Any) -> Line:
        return Line(f"Work order {row.number}", row.site.name, "order-split", row.public_id)

    return waiting_of(rows, line, "orders")


def _payroll(reader: Reader) -> Waiting | None:
    rows = pay_periods(reader.actor).filter(state="open", last_day__lt=reader.on).order_by("first_day")
    return waiting_of(rows, lambda row: Line(str(row), page="pay-period", key=row.public_id), "payroll")


def _failed(reader: Reader) -> Waiting | None:
    since = reader.at - FAILED_SINCE
    found = [
        row
        for model in RUNS
        for row in model._default_manager.filter(state=FAILED, finished_at__gte=since).only(
            "public_id", "state", "asked_at", "finished_at", "error"
        )
    ]
    found.sort(key=lambda row: row.finished_at or row.asked_at, reverse=True)

    def line(row: Any) -> Line:
        return Line(
            f"{row.kind.replace('_', ' ')} of {row.finished_at:%Y-%m-%d}", row.error[:80], "run-progress", row.public_id
        )

    return waiting_in(found, line, "")


def _no_role(reader: Reader) -> Waiting | None:
    rows = User.objects.filter(is_active=True, roles__isnull=True).order_by("username")
    return waiting_of(rows, lambda row: Line(row.get_username(), page="setup-users"), "setup-users")


CARDS = (
    Card(
        code="failed_runs",
        one="{count} background job failed in the last week",
        many="{count} background jobs failed in the last week",
        roles=ADMIN,
        find=_failed,
    ),
    Card(
        code="no_role",
        one="{count} login has no role and opens nothing",
        many="{count} logins have no role and open nothing",
        roles=ADMIN,
        find=_no_role,
    ),
    Card(code="proof", one="The newest proof of the ledger is bad", many="", roles=MONEY, find=_proof),
    Card(
        code="held_charges",
        one="{count} charge waits for somebody to say who pays",
        many="{count} charges wait for somebody to say who pays",
        roles=MONEY,
        find=_held,
    ),
    Card(
        code="unfunded",
        one="{count} order has nobody who pays",
        many="{count} orders have nobody who pays",
        roles=MONEY,
        find=_unfunded,
    ),
    Card(
        code="bills_draft",
        one="{count} bill is to be approved",
        many="{count} bills are to be approved",
        roles=MONEY,
        find=_bills("draft"),
    ),
    Card(
        code="bills_due",
        one="{count} approved bill is to be paid",
        many="{count} approved bills are to be paid",
        roles=MONEY,
        find=_bills("approved"),
    ),
    Card(
        code="payroll",
        one="{count} pay period is over and not told to payroll",
        many="{count} pay periods are over and not told to payroll",
        roles=MONEY,
        find=_payroll,
    ),
    Card(
        code="months",
        one="{count} month is over and not closed",
        many="{count} months are over and not closed",
        roles=MONEY,
        find=_months,
    ),
)
