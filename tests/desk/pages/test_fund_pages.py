"""Funds with what is left, budgets, rules of who pays; awards with terms and statement; charges that wait."""

from datetime import date

import pytest

from orders.costs.models import AwardTerm, Budget, Fund, FundingRule, HeldCharge
from tests import build
from tests.costs.charges import charged

pytestmark = pytest.mark.django_db


@pytest.fixture
def finance(client):
    client.force_login(build.UserFactory(roles=["finance"]))
    return client


def test_it_shows_what_is_left_of_each_fund(finance):
    award = build.AwardFactory(fund=build.FundFactory(name="Rivers", budget_cents=100_000), ceiling_cents=80_000)
    build.LedgerEntryFactory(fund=award.fund, award=award, amount_cents=25_000)
    page = finance.get("/money/funds/")
    for said in ("Rivers", "$750.00", "$550.00", "25%"):
        assert said in page.text


def test_it_says_that_there_are_no_funds_yet(finance):
    assert "No funds yet" in finance.get("/money/funds/").text


@pytest.mark.parametrize("path", ["funds/", "held/", "rules/new/", "budgets/budgets.csv", "budgets/file/"])
def test_it_opens_to_finance_alone(client, path):
    client.force_login(build.UserFactory(roles=["coordinator"]))
    assert client.get(f"/money/{path}").status_code == 403


def budget_facts(**more):
    return {"award": "", "site": "", "category": "labor", "month": "2027-03", "amount": "125.50", "note": "", **more}


def test_it_adds_changes_and_removes_a_budget(finance):
    fund = build.FundFactory()
    finance.post(f"/money/funds/{fund.public_id}/budgets/new/", budget_facts())
    budget = Budget.objects.get()
    assert (budget.amount_cents, budget.month, budget.category) == (12_550, date(2027, 3, 1), "labor")
    where = f"/money/budgets/{budget.public_id}/"
    assert "125.5" in finance.get(where).text
    finance.post(where, budget_facts(amount="90", version=budget.version))
    assert "$90.00" in finance.get(f"/money/funds/{fund.public_id}/").text
    finance.post(f"{where}remove/", {"reason": "Not needed", "version": budget.version + 1})
    assert not Budget.objects.exists()


def test_it_tells_beside_the_field_what_is_wrong(finance):
    fund = build.FundFactory()
    page = finance.post(f"/money/funds/{fund.public_id}/budgets/new/", budget_facts(month="spring", amount="-1"))
    assert page.status_code == 400
    assert "Must be a month such as 2027-03." in page.text
    build.BudgetFactory(fund=fund, category="labor", month=date(2027, 3, 1))
    assert "already" in finance.post(f"/money/funds/{fund.public_id}/budgets/new/", budget_facts()).text


def test_it_removes_no_budget_on_an_old_version(finance):
    budget = build.BudgetFactory()
    page = finance.post(f"/money/budgets/{budget.public_id}/remove/", {"reason": "Old", "version": 99})
    assert (page.status_code, Budget.objects.count()) == (412, 1)


def test_it_reads_and_writes_budgets_as_a_file(finance, tmp_path):
    build.FundFactory(code="OPS")
    path = tmp_path / "budgets.csv"
    path.write_bytes(b"fund,award,site,category,month,amount,note\r\nOPS,,,labor,,12.00,\r\n")
    with path.open("rb") as file:
        finance.post("/money/budgets/file/", {"file": file})
    assert finance.get("/money/budgets/budgets.csv").content == path.read_bytes()
    path.write_bytes(b"fund,amount\nNO,1\n")
    with path.open("rb") as file:
        assert "There is none with the code" in finance.post("/money/budgets/file/", {"file": file}).text


def test_it_adds_a_fund_and_its_award(finance):
    finance.post("/money/funds/new/", {"code": "WOODS", "name": "Woods", "budget": "12000"})
    fund = Fund.objects.get(code="WOODS")
    where = f"/money/funds/{fund.public_id}/awards/new/"
    facts = {"code": "W-1", "name": "Oaks", "first_day": "2027-01-01", "last_day": "2027-12-31", "ceiling": "900"}
    assert "before the first" in finance.post(where, {**facts, "last_day": "2026-12-31"}).text
    finance.post(where, facts)
    assert (fund.budget_cents, fund.awards.get().ceiling_cents) == (1_200_000, 90_000)


def test_it_changes_a_fund(finance):
    fund = build.FundFactory(budget_cents=100)
    assert finance.get(f"/money/funds/{fund.public_id}/edit/").status_code == 200
    finance.post(f"/money/funds/{fund.public_id}/edit/", {"name": "Woods", "budget": "", "version": fund.version})
    fund.refresh_from_db()
    assert fund.name == "Woods"
    assert fund.budget_cents is None


def rule_facts(*shares, **more):
    facts = {"name": "Shop", "from_day": "2027-01-01", "work_code": "shop", "site": "", "method_code": "", **more}
    for number, (payer, share) in enumerate(shares, start=1):
        facts |= {f"payer_{number}": payer, f"share_{number}": share}
    return facts


def test_it_adds_changes_and_removes_a_rule(finance):
    award, fund = build.AwardFactory(), build.FundFactory()
    both = f"{award.fund.public_id}/{award.public_id}"
    finance.post("/money/rules/new/", rule_facts((both, "33.33"), (str(fund.public_id), "66.67")))
    rule = FundingRule.objects.get()
    assert list(rule.shares.values_list("award", "share_e4")) == [(award.pk, 3_333), (None, 6_667)]
    where = f"/money/rules/{rule.public_id}/"
    assert "33.33" in finance.get(where).text
    finance.post(where, rule_facts((str(fund.public_id), "100"), name="Yard", version=rule.version))
    assert "Yard" in finance.get("/money/funds/").text
    finance.post(f"{where}remove/", {"reason": "No shop", "version": rule.version + 1})
    assert not FundingRule.objects.exists()


def test_it_refuses_a_rule_that_pays_no_whole(finance):
    page = finance.post("/money/rules/new/", rule_facts((str(build.FundFactory().public_id), "99.99")))
    assert "add up to 100%" in page.text
    assert not FundingRule.objects.exists()


def test_it_states_an_award_with_its_terms(finance):
    award = build.AwardFactory(ceiling_cents=100_000)
    build.AwardTermFactory(award=award, indirect_e4=1_500, indirect_base="mtdc", source="Letter of June")
    posted = {"category": "contract", "posting_month": date(2026, 8, 1)}
    build.LedgerEntryFactory(fund=award.fund, award=award, amount_cents=40_000, **posted)
    page = finance.get(f"/money/awards/{award.public_id}/").text
    for said in ("$600.00", "Letter of June", "modified total direct costs", "in force", "$60.00"):
        assert said in page


def test_it_fills_terms_in_from_a_ruleset_and_adds_them(finance):
    award = build.AwardFactory()
    where = f"/money/awards/{award.public_id}/terms/new/"
    old, new = finance.get(f"{where}?figures=federal-before"), finance.get(f"{where}?figures=federal-2024-10")
    assert "25000" in old.text
    assert "50000" in new.text
    facts = {
        "from_day": "2026-07-01",
        "ruleset": "federal-before",
        "indirect": "10",
        "indirect_base": "mtdc",
        "subaward_cap": "25000",
        "equipment_threshold": "5000",
        "match": "25",
        "match_amount": "0",
        "allowed": ["labor", "contract"],
        "at_charge": "refuse",
        "source": "Letter",
    }
    finance.post(where, facts)
    term = AwardTerm.objects.get()
    assert (term.indirect_e4, term.match_e4, term.subaward_cap_cents) == (1_000, 2_500, 2_500_000)
    assert "from that day already" in finance.post(where, facts).text


def test_it_amends_an_award(finance):
    award = build.AwardFactory()
    where = f"/money/awards/{award.public_id}/amend/"
    facts = {"name": award.name, "last_day": "2029-06-30", "ceiling": "99000", "version": award.version}
    assert finance.get(where).status_code == 200
    finance.post(where, facts)
    award.refresh_from_db()
    assert (award.ceiling_cents, award.last_day) == (9_900_000, date(2029, 6, 30))


def _held(count=2):
    build.FundFactory(is_suspense=True)
    award = build.AwardFactory(ceiling_cents=0)
    for _ in range(count):
        charged(award.fund, award, 40_000)
    return list(HeldCharge.objects.order_by("id"))


def test_it_settles_several_at_once(finance):
    held, fund = _held(), build.FundFactory(code="OPS")
    assert "left of its ceiling" in finance.get("/money/held/").text
    ids = [str(one.public_id) for one in held]
    finance.post("/money/held/", {"held": ids, "payer": str(fund.public_id), "reason": "The board agreed"})
    assert set(HeldCharge.objects.values_list("state", "settled_fund__code")) == {("settled", "OPS")}
    assert "Nothing waits" in finance.get("/money/held/").text
    assert "The board agreed" in finance.get("/money/held/?state=settled").text


def test_it_keeps_what_was_ticked_where_it_refuses(finance):
    (held,) = _held(1)
    payer = f"{held.fund.public_id}/{held.award.public_id}"
    page = finance.post("/money/held/", {"held": [str(held.public_id)], "payer": payer, "reason": "Please"})
    assert (page.status_code, "left of its ceiling" in page.text, "checked" in page.text) == (400, True, True)
    nothing = finance.post("/money/held/", {"payer": payer, "reason": "Please"})
    assert "Tick what it is about." in nothing.text
    assert finance.post("/money/held/", {"held": ["7"], "payer": payer, "reason": "x"}).status_code == 400


def test_it_posts_indirect_cost_from_the_months_page(finance):
    award = build.AwardFactory(ceiling_cents=100_000)
    build.AwardTermFactory(award=award, indirect_e4=1_000, indirect_base="direct")
    charged(award.fund, award, 40_000)
    assert "Post it now" in finance.get("/money/months/2027-02/").text
    reply = finance.post("/money/months/2027-02/indirect/", follow=True)
    assert "1 row anew" in reply.text
    assert "Post it now" not in reply.text
