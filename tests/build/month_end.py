"""Months of posting, proofs, outer accounts, journals."""

from datetime import UTC, date, datetime

import factory

from orders.costs import models as costs
from tests.build.base import Build

MONTH = date(2027, 2, 1)
PROVEN_AT = datetime(2027, 3, 2, 8, 10, tzinfo=UTC)


class PeriodFactory(Build):
    class Meta:
        model = costs.Period

    first_day = MONTH


class PeriodStepFactory(Build):
    class Meta:
        model = costs.PeriodStep

    period = factory.SubFactory(PeriodFactory)
    kind = "ask_close"
    at = PROVEN_AT


class ProofFactory(Build):
    class Meta:
        model = costs.Proof

    ran_at = PROVEN_AT
    is_good = True
    checks = [{"code": "trial-balance", "words": "Debits equal credits", "good": True, "found": [], "more": False}]
    rows_count = 12
    last_row = 12
    rows_sha256 = "5f" * 32


class AccountMappingFactory(Build):
    class Meta:
        model = costs.AccountMapping

    account = "cost-labor"
    outer_code = factory.Sequence(lambda n: f"{5000 + n}")
    outer_name = "Wages"


class JournalBatchFactory(Build):
    class Meta:
        model = costs.JournalBatch

    number = factory.Sequence(lambda n: n + 1)
    after_row = 0
    last_row = 0
    rows_count = 0
    total_cents = 0
    file_sha256 = "a0" * 32
    made_at = PROVEN_AT
