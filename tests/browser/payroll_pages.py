"""Pages of payroll and of effort statements, in the states that look different."""

from datetime import date, timedelta

from orders.costs.services.effort import effort_confirm, effort_make
from orders.costs.services.payroll import pay_period_open, payroll_export
from orders.costs.services.payroll_import import payroll_import
from orders.costs.services.punches import punches_round
from tests import build
from tests.costs.payday import DAY, FIRST, LAST, labor, sheet, worked

NAMES = ("A. Larkspur", "P. Sedge", "R. Teasel")
FILE = b"Person,Gross,Employer cost\r\nA. Larkspur,1210.00,118.40\r\nP. Sedge,980.5,77\r\n"


def _people():
    """Three people at work for nine days, one of them partly without day sheets."""
    city, award = build.FundFactory(code="CITY", name="City operations"), build.AwardFactory(name="Creek award")
    people = [build.PersonFactory(name=name) for name in NAMES]
    order = build.WorkOrderFactory()
    for person in people:
        for number in (1, 2, 3, 4, 5, 8, 9, 10, 11):
            day = FIRST + number * timedelta(days=1)
            if person is people[2] and number == 4:
                build.TimeEntryFactory(person=person, work_date=day, minutes=400)
                continue
            sheet(person, day, ("work", 390 + 7 * number, order), ("shop", 60, None))
            labor(person, 9_750, award.fund, award=award, order=order, day=day, minutes=390)
            labor(person, 1_500, city, work_code="shop", day=day, minutes=60)
    build.WorkweekPremiumFactory(person=people[0], overtime_minutes=72)
    sheet(people[1], FIRST + timedelta(days=12), ("leave", 480, None))
    return people


def _period(state="open"):
    people = _people()
    stamp = build.stamp()
    period = pay_period_open(first_day=FIRST, last_day=LAST, stamp=stamp)
    return people, payroll_export(period=period, stamp=stamp) if state == "exported" else period


def periods():
    _period("exported")
    pay_period_open(first_day=LAST + timedelta(days=2), last_day=LAST + timedelta(days=14), stamp=build.stamp())
    return "/money/payroll/"


def period_open():
    people, period = _period()
    for minutes in (7, 6, 7):
        moment = build.WORKED_AT.replace(minute=minutes)
        build.TimedSpanFactory(person=people[0], ended_at=moment, work_date=DAY)
    build.TimedSpanFactory(person=build.PersonFactory(name="M. Rush"), work_date=DAY)
    punches_round(first=FIRST, last=LAST, stamp=build.stamp())
    return f"/money/payroll/{period.public_id}/"


def period_exported():
    people, period = _period("exported")
    payroll_import(period=period, file_name="february.csv", data=FILE, stamp=build.stamp())
    labor(people[0], 2_000, build.FundFactory(code="LATE"))
    return f"/money/payroll/{period.public_id}/"


def period_empty():
    period = build.PayPeriodFactory()
    return f"/money/payroll/{period.public_id}/"


def period_asked():
    return f"{period_open()}export/"


def period_changes():
    people, period = _period("exported")
    sheet(people[0], FIRST + timedelta(days=12), ("work", 200, build.WorkOrderFactory()))
    return f"/money/payroll/{period.public_id}/changes/"


def _made(person):
    return effort_make(person=person, first_day=FIRST, last_day=LAST, stamp=build.stamp())


def statements():
    people = _people()
    people[0].user = build.UserFactory()
    people[0].save()
    effort_confirm(statement=_made(people[0]), name=people[0].name, stamp=build.stamp(people[0].user))
    _made(people[2])
    return f"/money/effort/?first_day={FIRST}&last_day={LAST}"


def statement():
    return f"/effort/{_made(_people()[0]).public_id}/"


def statement_lacking():
    return f"/effort/{_made(_people()[2]).public_id}/"


def statement_replaced():
    person = _people()[0]
    made = _made(person)
    worked(person, date(2027, 2, 14))
    return f"/effort/{made.public_id}/"


FINANCE, LOOKER = ("finance",), ("coordinator",)
STATES = {
    "payroll": (periods, FINANCE),
    "payroll-empty": (lambda: "/money/payroll/", FINANCE),
    "pay-period": (period_open, FINANCE),
    "pay-period-exported": (period_exported, FINANCE),
    "pay-period-empty": (period_empty, FINANCE),
    "pay-period-export": (period_asked, FINANCE),
    "pay-period-changes": (period_changes, FINANCE),
    "money-effort": (statements, FINANCE),
    "money-effort-empty": (lambda: "/money/effort/", FINANCE),
    "money-effort-wrong": (lambda: "/money/effort/?first_day=2027-02-07", FINANCE),
    "effort-statement": (statement, LOOKER),
    "effort-statement-lacking": (statement_lacking, FINANCE),
    "effort-statement-replaced": (statement_replaced, FINANCE),
    "own-effort-nobody": (lambda: "/effort/", FINANCE),
}
