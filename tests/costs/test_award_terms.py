"""Terms of awards: dated, added and never changed."""

from datetime import date

import pytest

from orders.common.errors import Invalid
from orders.costs.fund_selectors import award_term
from orders.costs.models import Award, AwardTerm
from orders.costs.services.awards import RULESETS, award_edit, award_term_add, fund_edit
from tests import build
from tests.costs.charges import charged

pytestmark = pytest.mark.django_db


def add(stamp, award, **more):
    facts = {"from_day": date(2026, 7, 1), "ruleset": "own", "source": "The letter", "figures": {}, **more}
    return award_term_add(award=award, stamp=stamp, **facts)


def test_it_goes_by_the_newest_terms_that_have_begun(stamp):
    award = build.AwardFactory()
    first = add(stamp, award)
    second = add(stamp, award, from_day=date(2027, 1, 1))
    days = date(2026, 6, 30), date(2026, 12, 31), date(2027, 1, 1)
    assert [award_term(award, day) for day in days] == [None, first, second]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"figures": {"indirect_e4": 10_001}, "indirect_base": "mtdc"}, "indirect_e4"),
        ({"figures": {"indirect_e4": 1_500}}, "indirect_base"),
        ({"figures": {"match_e4": 10_001}}, "match_e4"),
        ({"figures": {"subaward_cap_cents": -1}}, "subaward_cap_cents"),
        ({"allowed_categories": ["wine"]}, "allowed_categories"),
        ({"ruleset": "mine"}, "ruleset"),
        ({"source": ""}, "source"),
    ],
)
def test_it_refuses_terms_that_are_none(stamp, wrong, field):
    with pytest.raises(Invalid) as refusal:
        add(stamp, build.AwardFactory(), **wrong)
    assert field in [error.field for error in refusal.value.errors]
    assert not AwardTerm.objects.exists()


def test_it_adds_no_second_terms_from_one_day(stamp):
    award = build.AwardFactory()
    add(stamp, award)
    with pytest.raises(Invalid, match="not added"):
        add(stamp, award)


@pytest.mark.parametrize("ruleset", RULESETS, ids=lambda one: one.code)
def test_its_rulesets_can_be_taken_as_they_are(stamp, ruleset):
    figures = {
        name: getattr(ruleset, name) for name in ("indirect_e4", "subaward_cap_cents", "equipment_threshold_cents")
    }
    award = build.AwardFactory()
    add(stamp, award, ruleset=ruleset.code, figures=figures, indirect_base=ruleset.indirect_base)
    assert award.terms.get().indirect_e4 == ruleset.indirect_e4


@pytest.mark.parametrize("ruleset", RULESETS, ids=lambda one: one.code)
def test_it_takes_cap_and_threshold_that_are_not_named_from_the_ruleset(stamp, ruleset):
    award = build.AwardFactory()
    add(stamp, award, ruleset=ruleset.code, figures={"equipment_threshold_cents": 7})
    row = award.terms.get()
    assert (row.subaward_cap_cents, row.equipment_threshold_cents) == (ruleset.subaward_cap_cents, 7)


def test_it_raises_a_ceiling_but_never_below_what_is_charged(stamp):
    award = build.AwardFactory(ceiling_cents=1_000)
    charged(award.fund, award, 900)
    with pytest.raises(Invalid) as refusal:
        award_edit(award=award, values={"ceiling_cents": 899}, expected=award.version, stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["ceiling_cents"]
    award_edit(award=award, values={"ceiling_cents": 2_000}, expected=award.version, stamp=stamp)
    assert Award.objects.get().ceiling_cents == 2_000


def test_it_ends_no_award_before_work_that_is_charged(stamp):
    award = build.AwardFactory()
    charged(award.fund, award, 900, on=date(2027, 2, 1))
    with pytest.raises(Invalid):
        award_edit(award=award, values={"last_day": date(2027, 1, 31)}, expected=award.version, stamp=stamp)
    award_edit(award=award, values={"last_day": date(2027, 2, 1)}, expected=award.version, stamp=stamp)


def test_it_changes_a_funds_budget(stamp):
    fund = build.FundFactory()
    with pytest.raises(Invalid):
        fund_edit(fund=fund, values={"budget_cents": -1}, expected=fund.version, stamp=stamp)
    fund_edit(fund=fund, values={"budget_cents": None}, expected=fund.version, stamp=stamp)
    fund.refresh_from_db()
    assert fund.budget_cents is None
