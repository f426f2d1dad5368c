"""Terms of awards, statements, changed awards and funds, and charges that wait."""

import pytest

from orders.costs.models import HeldCharge
from tests import build
from tests.api.caller import error_fields
from tests.costs.charges import charged

pytestmark = pytest.mark.django_db


def test_it_adds_terms_from_a_ruleset(finance):
    award = build.AwardFactory()
    (new, old) = finance.get("/api/award-rulesets").json()["rows"]
    assert (new["subaward_cap_cents"], old["subaward_cap_cents"]) == (5_000_000, 2_500_000)
    figures = {name: new[name] for name in new if name not in {"code", "name"}}
    body = {"award": str(award.public_id), "from_day": "2026-07-01", "ruleset": new["code"], **figures}
    reply = finance.send("/api/award-terms", body)
    assert (reply.status_code, reply.json()["indirect_e4"]) == (201, 1_500)
    assert len(finance.rows(f"/api/award-terms?award={award.public_id}")) == 1
    again = finance.send("/api/award-terms", body)
    assert (again.status_code, error_fields(again)) == (400, ["from_day"])


def test_it_states_an_award(finance):
    award = build.AwardFactory(ceiling_cents=100_000)
    charged(award.fund, award, 40_000)
    shown = finance.get(f"/api/awards/{award.public_id}/statement?until=2027-02-28").json()
    assert (shown["direct_cents"], shown["ceiling_left_cents"], shown["term"]) == (40_000, 60_000, None)
    assert shown["direct"] == [{"category": "contract", "cents": 40_000}]
    wrong = finance.get(f"/api/awards/{award.public_id}/statement?until=spring")
    assert (wrong.status_code, error_fields(wrong)) == (400, ["until"])


def test_it_raises_a_ceiling(finance):
    award = build.AwardFactory(ceiling_cents=100)
    where = f"/api/awards/{award.public_id}"
    reply = finance.edit(where, {"ceiling_cents": 900}, etag=finance.get(where).headers["ETag"])
    assert reply.json()["ceiling_cents"] == 900


def test_it_changes_a_funds_budget(finance):
    where = f"/api/funds/{build.FundFactory().public_id}"
    reply = finance.edit(where, {"budget_cents": None}, etag=finance.get(where).headers["ETag"])
    assert reply.json()["budget_cents"] is None


def test_it_posts_the_indirect_cost_of_a_month(finance):
    award = build.AwardFactory(ceiling_cents=100_000)
    build.AwardTermFactory(award=award, indirect_e4=1_000, indirect_base="direct")
    charged(award.fund, award, 40_000)
    assert finance.send("/api/indirect-costs", {"month": "2027-02-01"}).json() == {"posted": 1}
    assert finance.send("/api/indirect-costs", {"month": "2027-02-01"}).json() == {"posted": 0}
    wrong = finance.send("/api/indirect-costs", {"month": "2027-02-02"})
    assert (wrong.status_code, error_fields(wrong)) == (400, ["month"])


def _held():
    build.FundFactory(is_suspense=True)
    award = build.AwardFactory(ceiling_cents=0)
    charged(award.fund, award, 40_000)
    return HeldCharge.objects.get()


def test_it_settles_what_waits(finance):
    held, fund = _held(), build.FundFactory()
    (row,) = finance.rows("/api/held-charges?state=waiting")
    assert (row["code"], row["amount_cents"]) == ("over-ceiling", 40_000)
    body = {"fund": str(fund.public_id), "reason": "Agreed with the board"}
    reply = finance.send(f"/api/held-charges/{held.public_id}/settle", body)
    assert (reply.status_code, reply.json()["settled_fund"]["id"]) == (200, str(fund.public_id))
    assert finance.send(f"/api/held-charges/{held.public_id}/settle", body).status_code == 409


def test_it_settles_nothing_against_the_terms(finance):
    held = _held()
    body = {"fund": str(held.fund.public_id), "award": str(held.award.public_id), "reason": "Please"}
    reply = finance.send(f"/api/held-charges/{held.public_id}/settle", body)
    assert (reply.status_code, error_fields(reply)) == (400, ["award"])


@pytest.mark.parametrize(
    "path", ["award-terms", "award-rulesets", "funding-rules", "budgets", "budgets/csv", "spending", "held-charges"]
)
def test_it_opens_to_finance_alone(desk, lead, path):
    assert [caller.get(f"/api/{path}").status_code for caller in (desk, lead)] == [403, 403]
