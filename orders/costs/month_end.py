"""The steps of a month's end, in their order, with what is still open in each. Read only: every step is done on the
page that it names."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Exists, OuterRef

from orders.common.models import User
from orders.costs.indirect_base import awards_to_post
from orders.costs.models import Bill, HeldCharge, LedgerEntry, Period
from orders.costs.month_selectors import period_of, proof_is_fresh, proofs
from orders.costs.selectors import costs_open_to
from orders.costs.services.periods import OPEN_STATES, month_after
from orders.costs.workweeks import week_start
from orders.field.models import DayLine, DaySheet
from orders.workorders.models import TimeEntry, WorkOrder
from orders.workorders.records.states import records_open

# done: nothing left; look: something to look at, which stops nothing; must: the month cannot be closed before
DONE, LOOK, MUST = "done", "look", "must"
A_DAY = timedelta(days=1)
OPEN_ORDERS = ("issued", "underway")


@dataclass(frozen=True)
class MonthStep:
    """`name` is the address of the page where it is done, `query` what that page is asked."""

    code: str
    words: str
    told: str
    count: int
    state: str
    name: str = ""
    query: dict[str, str] = field(default_factory=dict)


def month_end_steps(actor: User, month: date) -> list[MonthStep]:
    """What has to happen before a month is closed, what should, and the closing itself."""
    costs_open_to(actor)
    last = month_after(month) - A_DAY
    counted = [step(month, last) for step in STEPS]
    return [*counted, _earlier(month), _proof(actor), _close(actor, month)]


def _look(count: int) -> str:
    return LOOK if count else DONE


def _open_orders(month: date, last: date) -> MonthStep:
    count = WorkOrder.objects.filter(state__in=OPEN_ORDERS, last_day__lte=last).count()
    told = "Issued or underway, with a last day in this month or before. What they cost is not posted yet."
    return MonthStep("orders", "Orders to close", told, count, _look(count), "orders", {"state": "issued"})


def _records(month: date, last: date) -> MonthStep:
    count = sum(state.group.used_on <= last for state in records_open())
    told = "Applications of this month or before whose record is missing or incomplete."
    return MonthStep("records", "Application records to finish", told, count, _look(count), "records-owed")


def _day_sheets(month: date, last: date) -> MonthStep:
    missing = days_without_sheets(month, last)
    query = {"day": missing[0][0].isoformat()} if missing else {}
    count, told = len(missing), "Days that people worked by a close-out, and have no confirmed day sheet of."
    return MonthStep("day-sheets", "Day sheets to confirm", told, count, _look(count), "day-sheets", query)


def days_without_sheets(first: date, last: date) -> list[tuple[date, int]]:
    """(day, person), the earliest first."""
    sheets = DaySheet.objects.filter(person=OuterRef("person"), work_date=OuterRef("work_date"))
    times = TimeEntry.objects.filter(close_out__amended_by__isnull=True, work_date__range=(first, last))
    missing = times.filter(~Exists(sheets)).order_by("work_date", "person")
    return list(missing.values_list("work_date", "person").distinct())


def _held(month: date, last: date) -> MonthStep:
    count = HeldCharge.objects.filter(state="waiting", work_date__lte=last).count()
    told = "In suspense until finance says who pays."
    return MonthStep("held", "Charges that wait", told, count, _look(count), "held-charges")


def _unposted_time(month: date, last: date) -> MonthStep:
    lines = DayLine.objects.filter(sheet__amended_by__isnull=True, sheet__work_date__lte=last)
    count = lines.filter(order__state__in=OPEN_ORDERS).count()
    told = "Lines of day sheets on orders that are not closed: they are posted with their close-outs."
    return MonthStep("unposted-time", "Time that is not posted", told, count, _look(count), "day-sheets")


def _draft_bills(month: date, last: date) -> MonthStep:
    count = Bill.objects.filter(state="draft", billed_on__lte=last).count()
    told = "Entered and not approved: nothing of them is posted."
    return MonthStep("bills", "Bills to approve", told, count, _look(count), "bills")


def _straddling(month: date, last: date) -> MonthStep:
    """Overtime is by the workweek: one that goes on into the next month may still earn premium for days of this one."""
    start = week_start(last)
    is_whole = start + timedelta(days=6) == last
    times = TimeEntry.objects.filter(close_out__amended_by__isnull=True, work_date__range=(max(start, month), last))
    count = 0 if is_whole else times.order_by().values("person").distinct().count()
    told = "The last workweek ends in this month."
    if not is_whole:
        told = (
            f"The workweek from {start:%B %-d} goes on into the next month. People with time in it; a premium that "
            "comes of later days is posted to the month that is open then."
        )
    return MonthStep("workweeks", "Workweek over the month's end", told, count, _look(count), "overtime")


def _indirect(month: date, last: date) -> MonthStep:
    count = len(awards_to_post(month))
    told = "Awards whose indirect cost of this month is not what the costs posted to it make it."
    return MonthStep("indirect", "Indirect cost to post", told, count, _look(count), "month")


STEPS: tuple[Callable[[date, date], MonthStep], ...] = (
    _open_orders,
    _records,
    _day_sheets,
    _held,
    _unposted_time,
    _draft_bills,
    _straddling,
    _indirect,
)


def _earlier(month: date) -> MonthStep:
    shut = Period.objects.exclude(state__in=OPEN_STATES).values("first_day")
    rows = LedgerEntry.objects.filter(posting_month__lt=month).exclude(posting_month__in=shut)
    count = rows.order_by().values("posting_month").distinct().count()
    told = "Months before this one that have postings and are open."
    return MonthStep("earlier", "Earlier months to close", told, count, MUST if count else DONE, "months")


def _proof(actor: User) -> MonthStep:
    """Good, and newer than everything that was posted."""
    newest = proofs(actor).first()
    if newest is None:
        return MonthStep("proof", "Proof of the ledger", "It was never run.", 1, MUST, "proofs")
    bad = sum(not result["good"] for result in newest.checks)
    if bad:
        told = f"The last one, of {newest.ran_at:%Y-%m-%d %H:%M} UTC, found something wrong."
        return MonthStep("proof", "Proof of the ledger", told, bad, MUST, "proofs")
    fresh = proof_is_fresh(newest)
    told = "Good, and nothing was posted since." if fresh else "Something was posted since the last one: run it again."
    return MonthStep("proof", "Proof of the ledger", told, int(not fresh), DONE if fresh else MUST, "proofs")


def _close(actor: User, month: date) -> MonthStep:
    period = period_of(actor, month)
    state = period.state if period else "open"
    told = {
        "open": "Somebody asks, another person confirms.",
        "closing": "Somebody asked: another person has to confirm.",
        "closed": "Nothing is posted to this month any more.",
        "reopening": "Somebody asked for it to be opened again: another person has to confirm.",
    }[state]
    return MonthStep("close", "Close the month", told, 0, DONE if state == "closed" else LOOK, "month")
