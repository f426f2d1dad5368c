"""Terms of awards, rules of who pays, budgets, and charges that wait."""

from datetime import date

import factory

from orders.costs import models as costs
from tests.build.base import WORK_DAY, WORKED_AT, Build
from tests.build.money import AwardFactory, FundFactory


class AwardTermFactory(Build):
    class Meta:
        model = costs.AwardTerm

    award = factory.SubFactory(AwardFactory)
    from_day = date(2026, 7, 1)
    ruleset = "own"
    source = "The letter of award"


class FundingRuleFactory(Build):
    class Meta:
        model = costs.FundingRule

    name = factory.Sequence(lambda n: f"Rule {n}")
    from_day = date(2026, 1, 1)


class FundingRuleShareFactory(Build):
    class Meta:
        model = costs.FundingRuleShare

    rule = factory.SubFactory(FundingRuleFactory)
    fund = factory.SubFactory(FundFactory)
    share_e4 = 10_000


class BudgetFactory(Build):
    class Meta:
        model = costs.Budget

    fund = factory.SubFactory(FundFactory)
    amount_cents = 100_000


class HeldChargeFactory(Build):
    """Without rows in suspense: only the note."""

    class Meta:
        model = costs.HeldCharge

    source_kind = "time_entry"
    source_id = factory.Faker("uuid4")
    revision = 1
    fund = factory.SubFactory(FundFactory)
    category = "labor"
    work_date = WORK_DAY
    amount_cents = 12_000
    code = "outside-period"
    message = "The day is outside the period of performance."
    raised_at = WORKED_AT
