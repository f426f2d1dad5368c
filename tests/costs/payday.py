"""People with paid days, for tests of payroll and of effort statements."""

from datetime import date, timedelta

from orders.costs.models import LedgerEntry
from orders.costs.services.payroll import pay_period_open, payroll_export
from tests import build

FIRST, LAST = date(2027, 2, 7), date(2027, 2, 20)
DAY = date(2027, 2, 10)
A_DAY = timedelta(days=1)


def sheet(person, day=DAY, *lines, amends=None, **facts):
    """A day sheet of (code, minutes, order) lines; with `amends` its next revision."""
    told = [{"code": code, "minutes": minutes, "order": order} for code, minutes, order in lines]
    more = {"amends": amends, "revision": amends.revision + 1, "reason": "Typed wrong"} if amends else {}
    minutes = sum(line["minutes"] for line in told)
    return build.DaySheetFactory(person=person, work_date=day, lines=told, minutes=minutes, **more, **facts)


def worked(person, day=DAY, minutes=480, **facts):
    """A day sheet with work on one order."""
    return sheet(person, day, ("work", minutes, build.WorkOrderFactory()), **facts)


def period(first=FIRST, last=LAST, *, stamp):
    return pay_period_open(first_day=first, last_day=last, stamp=stamp)


def exported(first=FIRST, last=LAST, *, stamp):
    return payroll_export(period=period(first, last, stamp=stamp), stamp=stamp)


def labor(person, cents, fund, *, award=None, category="labor", minutes=480, day=DAY, **facts) -> LedgerEntry:
    """A standing ledger row of a person's pay."""
    told = {"order": None, "visit": None, "prescription": None, "order_number": None, "site_code": "", "patch_code": ""}
    return build.LedgerEntryFactory(
        **{**told, "method_code": "", "crew_name": "", **facts},
        person=person,
        amount_cents=cents,
        quantity=minutes if category == "labor" else 0,
        fund=fund,
        award=award,
        category=category,
        debit=f"cost-{category}",
        work_date=day,
    )
