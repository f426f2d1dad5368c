"""Funds, awards, pay, and what was planned and posted."""

from datetime import date

import factory

from orders.costs import models as costs
from tests.build.base import NOW, WORK_DAY, WORKED_AT, Build
from tests.build.people import PersonFactory
from tests.build.season import PrescriptionFactory, VisitFactory, WorkOrderFactory


class FundFactory(Build):
    class Meta:
        model = costs.Fund

    code = factory.Sequence(lambda n: f"F{n}")
    name = factory.LazyAttribute(lambda fund: f"Fund {fund.code}")
    budget_cents = 5_000_000


class AwardFactory(Build):
    class Meta:
        model = costs.Award

    fund = factory.SubFactory(FundFactory)
    code = factory.Sequence(lambda n: f"A{n}")
    name = factory.LazyAttribute(lambda award: f"Award {award.code}")
    first_day = date(2026, 7, 1)
    last_day = date(2028, 6, 30)
    ceiling_cents = 2_000_000


class PayRateFactory(Build):
    class Meta:
        model = costs.PayRate

    person = factory.SubFactory(PersonFactory)
    from_day = date(2026, 1, 1)
    rate_e4 = 268_750


class OrderFundingFactory(Build):
    class Meta:
        model = costs.OrderFunding

    order = factory.SubFactory(WorkOrderFactory)
    fund = factory.SubFactory(FundFactory)
    share_e4 = 10_000


class CostRowFactory(Build):
    """What planned and posted rows share; order, visit and prescription are strangers unless given."""

    class Meta:
        abstract = True

    posting_key = factory.Sequence(lambda n: f"key-{n}")
    category = "labor"
    amount_cents = 12_000
    order = factory.SubFactory(WorkOrderFactory)
    visit = factory.SubFactory(VisitFactory)
    prescription = factory.SubFactory(PrescriptionFactory)
    order_number = factory.SelfAttribute("order.number")
    site_code = factory.SelfAttribute("order.site.code")
    patch_code = factory.SelfAttribute("prescription.patch.code")
    species_code = "EUFO"
    method_code = factory.SelfAttribute("prescription.method.code")
    crew_name = factory.SelfAttribute("order.crew.name")
    fund = factory.SubFactory(FundFactory)
    work_date = WORK_DAY
    posting_month = date(2027, 2, 1)
    posted_at = WORKED_AT


class CommitmentFactory(CostRowFactory):
    class Meta:
        model = costs.Commitment

    posted_at = NOW


class LedgerEntryFactory(CostRowFactory):
    class Meta:
        model = costs.LedgerEntry

    person = factory.SubFactory(PersonFactory)
    person_type = factory.SelfAttribute("person.person_type")
    quantity = 240
    unit = "min"
    rate_e4 = 300_000
    rate_origin = "standard"
    source_kind = "time_entry"
    source_id = factory.Faker("uuid4")
    revision = 1
