"""Pay periods, what payroll was told and what it cost; effort statements."""

from datetime import date

import factory

from orders.costs import models as costs
from tests.build.base import NOW, WORK_DAY, Build, UserFactory
from tests.build.facts import TimedSpanFactory
from tests.build.money import FundFactory
from tests.build.people import PersonFactory


class PayPeriodFactory(Build):
    """Two weeks around the day of work, from a Sunday."""

    class Meta:
        model = costs.PayPeriod

    first_day = date(2027, 2, 7)
    last_day = date(2027, 2, 20)


class PayPeriodLineFactory(Build):
    class Meta:
        model = costs.PayPeriodLine

    period = factory.SubFactory(PayPeriodFactory, state="exported", exported_at=NOW)
    person = factory.SubFactory(PersonFactory)
    person_name = factory.SelfAttribute("person.name")
    work_date = WORK_DAY
    code = "regular"
    minutes = 480


class PayrollImportFactory(Build):
    class Meta:
        model = costs.PayrollImport

    period = factory.SubFactory(PayPeriodFactory, state="exported", exported_at=NOW)
    revision = 1
    file_name = "payroll.csv"
    file_sha256 = "0" * 64
    total_cents = 30_000
    ledger_cents = 29_000
    at = NOW
    by = factory.SubFactory(UserFactory, roles=["finance"])


class PayrollImportLineFactory(Build):
    class Meta:
        model = costs.PayrollImportLine

    loaded = factory.SubFactory(PayrollImportFactory)
    row_number = factory.Sequence(lambda n: n + 2)
    person = factory.SubFactory(PersonFactory)
    gross_cents = 24_000
    employer_cents = 6_000
    ledger_cents = 29_000


class EffortStatementFactory(Build):
    """With one line of orders; `lines=[{...}]` gives others."""

    class Meta:
        model = costs.EffortStatement

    person = factory.SubFactory(PersonFactory)
    first_day = date(2027, 2, 7)
    last_day = date(2027, 2, 20)
    revision = 1
    minutes = 480
    made_at = NOW

    @factory.post_generation
    def lines(self, create, extracted, **kwargs):
        for facts in [{}] if extracted is None else extracted:
            EffortLineFactory(statement=self, **facts)


class EffortLineFactory(Build):
    class Meta:
        model = costs.EffortLine

    statement = factory.SubFactory(EffortStatementFactory, lines=[])
    fund = factory.SubFactory(FundFactory)
    activity = "orders"
    minutes = 480
    share_e4 = 10_000


class WorkweekPremiumFactory(Build):
    """Six hours of overtime in the week of the day of work."""

    class Meta:
        model = costs.WorkweekPremium

    person = factory.SubFactory(PersonFactory)
    week_start = date(2027, 2, 7)
    revision = 1
    worked_minutes = 2_760
    overtime_minutes = 360
    regular_rate_e4 = 250_000
    premium_cents = 7_500
    posted_at = NOW


class PaidPunchFactory(Build):
    class Meta:
        model = costs.PaidPunch

    span = factory.SubFactory(TimedSpanFactory)
    rule_minutes = 15
    rounded_start = factory.SelfAttribute("span.started_at")
    rounded_end = factory.SelfAttribute("span.ended_at")
    true_minutes = 240
    rounded_minutes = 240
