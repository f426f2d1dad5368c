"""Every list of the desk: who reads it, what makes a row of it, and how it is sorted, narrowed and turned."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from orders.common.models import User
from orders.costs.models import PayPeriod
from orders.crews.models import Person
from orders.planning.models import Season
from tests import build
from tests.desk.pages.test_queries import deadlines, orders, pay_period
from tests.flow.world import BEGIN

A_DAY = timedelta(days=1)
A_MONTH = timedelta(days=31)
READER = "reader"


def bill(number):
    build.BillFactory(number=f"B-{number:03}", billed_on=date(2027, 1, 1) + number * A_DAY)


def purchase(number):
    build.PurchaseOrderFactory(ordered_on=date(2027, 1, 1) + number * A_DAY)


def reminder(number):
    deadline = build.DeadlineFactory(due_on=BEGIN.date() + number * A_DAY)
    build.NoticeFactory(deadline=deadline, user=User.objects.get(username=READER))


def the_season() -> Season:
    return Season.objects.order_by("id").first() or build.SeasonFactory(name="The season")


def month(number):
    build.PeriodFactory(first_day=(date(2021, 1, 1) + number * A_MONTH).replace(day=1))


def statement(number, **facts: Any):
    period = PayPeriod.objects.first() or build.PayPeriodFactory()
    days = {"first_day": period.first_day, "last_day": period.last_day}
    facts = {"person__name": f"Person {number:03}", **days, **facts}
    build.EffortStatementFactory(revision=1, **facts)


def own_statement(number):
    user = User.objects.get(username=READER)
    first = date(2024, 1, 7) + number * 14 * A_DAY
    person = Person.objects.filter(user=user).first() or build.PersonFactory(user=user)
    build.EffortStatementFactory(person=person, first_day=first, last_day=first + 13 * A_DAY, revision=1)


def day_sheet(number):
    build.DaySheetFactory(crew__people=0, work_date=BEGIN.date(), person__name=f"Person {number:03}")


def asked_for(number):
    build.PrescriptionFactory(season=the_season(), patch__code=f"P-{number:03}")


def plan(number):
    build.PlanRunFactory(season=the_season(), asked_at=BEGIN + number * A_DAY)


@dataclass(frozen=True)
class List:
    """`narrowed` leaves no row of those that `make` makes; `sort` is a column by which they differ."""

    role: str
    make: Callable[[int], Any]
    sort: str = ""
    narrowed: str = ""
    refuses: str = ""  # what it says of a filter that it does not have is a refusal
    has_pages: bool = True
    file: str = "?file=csv"
    prefix: str = ""  # of the names in the address, for another list on a page
    many: int = 52  # more than a page of it has
    asks_by_row: bool = False  # it recomputes each row from its records


# By address; what stands behind # tells the lists of one page apart.
LISTS = {
    "/flags/": List(
        "coordinator", lambda n: build.FlagFactory(raised_at=BEGIN + n * A_DAY), "raised", "state=settled", "state=odd"
    ),
    "/orders/": List("coordinator", orders, "number", "state=void", "state=odd", file="orders.csv?"),
    "/incidents/": List("coordinator", lambda n: build.IncidentFactory(at=BEGIN - n * A_DAY), "at", "q=zzz"),
    "/reminders/deadlines/": List("coordinator", deadlines, "due", "state=met", "state=odd"),
    "/reminders/": List("coordinator", reminder, "due", "state=acknowledged", "state=odd"),
    "/tablets/": List("coordinator", lambda n: build.DeviceFactory(name=f"Tablet {n:03}"), "name"),
    "/sites/": List("coordinator", lambda n: build.SiteFactory(code=f"SITE-{n:03}"), "code", "q=zzz", "sort=odd"),
    "/products/": List(
        "coordinator",
        lambda n: build.ProductFactory(code=f"P-{n:03}", name=f"Product {n:03}"),
        "name",
        "shown=ended",
        "shown=odd",
    ),
    "/setup/mixes/": List(
        "pesticide_supervisor",
        lambda n: build.MixFactory(name=f"Mix {n:03}"),
        "name",
        "shown=ended",
        has_pages=False,  # its file tells all pages whatever page it is asked from
    ),
    "/setup/jurisdictions/": List(
        "coordinator",
        lambda n: build.JurisdictionFactory(code=f"J-{n:03}", name=f"Land {n:03}"),
        "name",
        "shown=ended",
        has_pages=False,
    ),
    "/choices/": List("coordinator", lambda n: build.ChoiceBatchFactory(made_at=BEGIN + n * A_DAY), "made"),
    "/surveys/": List(
        "coordinator", lambda n: build.SurveyImportFactory(file_name=f"{n:03}.geojson"), "file", "text=zzz", "state=odd"
    ),
    "/records/": List(
        "pesticide_supervisor",
        lambda n: build.ApplicationRecordFactory(work_date=BEGIN.date() - n * A_DAY),
        "day",
        "q=zzz",
        file="records.csv?",
    ),
    "/money/purchases/": List("finance", purchase, "ordered", "state=void", "state=odd"),
    "/money/bills/": List("finance", bill, "number", "state=void", "state=odd"),
    "/money/overtime/": List("finance", lambda n: build.WorkweekPremiumFactory(), "person"),
    "/money/held/": List(
        "finance",
        lambda n: build.HeldChargeFactory(amount_cents=1000 + n),
        "amount",
        "state=gone",
        "state=odd",
    ),
    "/money/payroll/": List("finance", pay_period, "days"),
    "/money/stock/": List(
        "finance", lambda n: build.StockValueFactory(value_cents=100 + n), "value", "on=2020-01-01", "on=odd"
    ),
    "/money/stock/#lots": List(
        "finance", lambda n: build.StockValueFactory(), "name", file="?file=lots", prefix="hand_", has_pages=False
    ),
    "/money/equipment/": List(
        "finance", lambda n: build.EquipmentHoursFactory(operating_minutes=60 + n), "operating", "", "order=odd"
    ),
    "/money/equipment/#trips": List(
        "finance", lambda n: build.TripFactory(miles_tenths=10 + n), "miles", file="?file=trips", prefix="trips_"
    ),
    "/surveys/mappings/": List("coordinator", lambda n: build.SurveyMappingFactory(name=f"Office {n:03}"), "name"),
    "/patches/": List(
        "coordinator", lambda n: build.SurveyFactory(patch__code=f"P-{n:03}"), "patch", "text=zzz", "sort=odd"
    ),
    "/seasons/": List("coordinator", lambda n: build.SeasonFactory(name=f"Season {n:03}"), "name"),
    "/seasons/{season}/": List("coordinator", asked_for, "patch"),
    "/seasons/{season}/plans/": List("coordinator", plan, "asked"),
    "/calibration/": List("coordinator", lambda n: build.CalibrationRunFactory(asked_at=BEGIN + n * A_DAY), "asked"),
    "/rate-books/": List("coordinator", lambda n: build.RateBookFactory(name=f"Book {n:03}"), "name"),
    "/day-sheets/": List("coordinator", day_sheet, "person", "day=2020-01-01", "day=odd", has_pages=False),
    "/effort/": List("crew_lead", own_statement, "days", asks_by_row=True),
    "/money/effort/": List("finance", statement, "person", has_pages=False, asks_by_row=True),
    "/money/funds/": List(
        "finance", lambda n: build.FundFactory(code=f"N-{n:03}", name=f"Fund {n:03}"), "name", has_pages=False
    ),
    "/money/funds/#awards": List(
        "finance",
        lambda n: build.AwardFactory(code=f"N-{n:03}", name=f"Award {n:03}"),
        "name",
        file="?file=awards",
        prefix="awards_",
        has_pages=False,
    ),
    "/money/funds/#rules": List(
        "finance",
        lambda n: build.FundingRuleShareFactory(rule__name=f"Rule {n:03}"),
        "name",
        file="?file=rules",
        prefix="rules_",
        has_pages=False,
    ),
    "/money/months/": List("finance", month, "month"),
    "/money/proofs/": List("finance", lambda n: build.ProofFactory(ran_at=BEGIN + n * A_DAY), "ran"),
    "/money/exports/": List("finance", lambda n: build.ExportRunFactory(asked_at=BEGIN + n * A_DAY), "asked"),
    "/money/views/": List("finance", lambda n: build.SavedViewFactory(name=f"View {n:03}", is_shared=True), "name"),
    "/money/schedules/": List("finance", lambda n: build.ReportScheduleFactory(name=f"Mail {n:03}"), "name"),
    "/money/mappings/": List(
        "finance",
        lambda n: build.AccountMappingFactory(fund=build.FundFactory(), outer_code=f"{5000 + n}"),
        "code",
        file="mappings.csv?",
        many=102,
    ),
    "/money/mappings/#journals": List(
        "finance",
        lambda n: build.JournalBatchFactory(number=n + 1),
        "number",
        file="?file=journals",
        many=102,
        prefix="journal_",
    ),
    "/money/pay/": List("finance", lambda n: build.PayRateFactory(person__name=f"Person {n:03}"), "person", "q=zzz"),
    "/money/pay/time-off/": List(
        "finance", lambda n: build.CompTimeAgreementFactory(person__name=f"Person {n:03}"), "person", "q=zzz"
    ),
    "/money/pay/match/": List(
        "finance", lambda n: build.MatchRateFactory(from_day=date(2026, 1, 1) + n * A_DAY, rate_e4=170_000 + n), "rate"
    ),
    "/money/pay/rules/": List(
        "finance", lambda n: build.OvertimeRuleFactory(from_day=date(2026, 2, 1) + n * A_DAY), "from"
    ),
    "/money/pay/rules/#policies": List(
        "finance",
        lambda n: build.PayPolicyFactory(from_day=date(2026, 2, 1) + n * A_DAY),
        "from",
        file="?file=policies",
        prefix="policies_",
    ),
}
