"""Funds, an award with its terms, and charges that wait, in the states that look different."""

from datetime import UTC, date, datetime
from typing import Any

from orders.costs.models import Award, Fund
from tests import build

PAST = {"posting_month": date(2026, 8, 1), "work_date": date(2026, 8, 12)}
RAISED = datetime(2026, 10, 2, 15, tzinfo=UTC)


def _program() -> tuple[Fund, Award]:
    """A fund nearly spent, one that is open, a grant with old and new terms, rules and budgets. Invented."""
    build.FundFactory(code="SUSPENSE", name="Suspense", is_suspense=True, budget_cents=None)
    city = build.FundFactory(code="CITY", name="City operations", budget_cents=14_500_000)
    build.FundFactory(code="GIFTS", name="Gifts", budget_cents=None)
    grant = build.FundFactory(code="GRANT", name="Watershed restoration grants", budget_cents=9_000_000)
    award = build.AwardFactory(
        fund=grant, code="KR-2026-17", name="Knob River headwaters", ceiling_cents=8_000_000, last_day=date(2027, 9, 30)
    )
    order = build.WorkOrderFactory(number=6_118, state="issued")
    where: dict[str, Any] = {"order": order, **PAST}
    build.LedgerEntryFactory(**where, fund=city, amount_cents=12_980_412)
    build.LedgerEntryFactory(**where, fund=grant, award=award, amount_cents=2_105_311)
    contract = {"category": "contract", "credit": "clear-payables", "debit": "cost-contract"}
    build.LedgerEntryFactory(**where, **contract, fund=grant, award=award, amount_cents=1_240_000)
    build.CommitmentFactory(order=order, fund=city, amount_cents=1_900_000)
    build.CommitmentFactory(order=order, fund=grant, award=award, amount_cents=960_000)
    old = {"ruleset": "federal-before", "indirect_e4": 1_000, "indirect_base": "mtdc", "subaward_cap_cents": 2_500_000}
    build.AwardTermFactory(award=award, **old, equipment_threshold_cents=500_000, source="Letter of award, page 3")
    new = {"ruleset": "federal-2024-10", "indirect_e4": 1_500, "indirect_base": "mtdc", "match_e4": 2_500}
    kinds = {"allowed_categories": ["labor", "premium", "material", "contract"], "at_charge": "refuse"}
    build.AwardTermFactory(award=award, from_day=date(2026, 9, 1), **new, **kinds, source="Amendment 1, page 2")
    for of in ({"category": "contract"}, {"site": order.site, "note": "As the council wishes"}, {"award": award}):
        build.BudgetFactory(fund=grant, amount_cents=1_200_000, **of)
    rule = build.FundingRuleFactory(name="Shop and training", work_code="shop")
    build.FundingRuleShareFactory(rule=rule, fund=city, share_e4=7_500)
    build.FundingRuleShareFactory(rule=rule, fund=grant, award=award, share_e4=2_500)
    build.FundingRuleShareFactory(rule=build.FundingRuleFactory(name="Headwaters", site=order.site), fund=grant)
    return grant, award


def funds() -> str:
    _program()
    return "/money/funds/"


def fund() -> str:
    grant, _ = _program()
    return f"/money/funds/{grant.public_id}/"


def budget_new() -> str:
    return f"{fund()}budgets/new/"


def rule_new() -> str:
    _program()
    return "/money/rules/new/"


def award() -> str:
    _, found = _program()
    return f"/money/awards/{found.public_id}/"


def term_new() -> str:
    return f"{award()}terms/new/?figures=federal-2024-10"


def held() -> str:
    grant, found = _program()
    order, person = build.WorkOrderFactory(number=6_140), build.PersonFactory(name="R. Teasel")
    meant = {"fund": grant, "award": found, "raised_at": RAISED, "work_date": date(2026, 6, 12)}
    over = "KR-2026-17 has $110.04 left of its ceiling; this is $2,400.00."
    build.HeldChargeFactory(**meant, order=order, person=person)
    build.HeldChargeFactory(**meant, category="contract", source_kind="bill_line", code="over-ceiling", message=over)
    none = Fund.objects.get(is_suspense=True)
    nobody = "No order, rule or person says who pays this."
    build.HeldChargeFactory(fund=none, raised_at=RAISED, source_kind="day_line", code="nobody-pays", message=nobody)
    return "/money/held/"


def held_settled() -> str:
    grant, found = _program()
    told = {"settled_fund": grant, "settled_by": build.UserFactory(username="mina"), "settled_at": RAISED}
    reason = "The board agreed on October 2"
    build.HeldChargeFactory(fund=grant, award=found, state="settled", reason=reason, **told)
    return "/money/held/?state=settled"
