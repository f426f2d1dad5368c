"""The base of an indirect rate with a subaward, by the figures of old and new federal rules, through bills of an award.

CST-04: direct 500,000 with one subaward of 200,000 and a cap of 25,000 gives a base of 325,000 (worked example of
casrai.org); 10% of it by hand. CST-05: the same with the cap of 50,000 of 2 CFR 200.1 from October 2024, and 15%
(2 CFR 200.414(f)), by hand.
"""

from datetime import date

import pytest

from orders.costs.models import LedgerEntry
from orders.costs.services.awards import RULESETS, award_term_add
from orders.costs.services.bills import bill_approve
from orders.costs.services.indirect import indirect_post
from orders.costs.statements import award_statement
from tests import build
from tests.costs.charges import TODAY, told

pytestmark = pytest.mark.django_db
DOLLAR = 100


@pytest.mark.parametrize(
    ("ruleset", "base", "indirect"),
    [("federal-before", 325_000, 32_500), ("federal-2024-10", 350_000, 52_500)],
    ids=["CST-04", "CST-05"],
)
def test_it_comes_to_the_published_base(ruleset, base, indirect):
    build.FundFactory(is_suspense=True)
    award = build.AwardFactory(fund=build.FundFactory(budget_cents=None), ceiling_cents=600_000 * DOLLAR)
    figures = next(one for one in RULESETS if one.code == ruleset)
    award_term_add(
        award=award,
        from_day=date(2026, 7, 1),
        ruleset=ruleset,
        source=figures.source,
        figures={
            "indirect_e4": figures.indirect_e4,
            "subaward_cap_cents": figures.subaward_cap_cents,
            "equipment_threshold_cents": figures.equipment_threshold_cents,
        },
        indirect_base=figures.indirect_base,
        stamp=told(),
    )
    subaward = build.PurchaseOrderFactory(cents=0, state="approved", is_subaward=True)
    for order, dollars in ((subaward, 120_000), (subaward, 80_000), (None, 300_000)):
        line = {"fund": award.fund, "award": award}
        bill = build.BillFactory(purchase_order=order, total_cents=dollars * DOLLAR, line=line)
        bill_approve(bill=bill, posted_on=TODAY, stamp=told())
    indirect_post(month=TODAY, stamp=told())
    statement = award_statement(build.UserFactory(roles=["finance"]), award, TODAY)
    assert (statement.direct_cents, statement.base.base_cents) == (500_000 * DOLLAR, base * DOLLAR)
    assert LedgerEntry.objects.get(category="indirect").amount_cents == indirect * DOLLAR
