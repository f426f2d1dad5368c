"""Rules of chains: what may be said in them, and that they lead on and not back."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.planning.chain_rules import chain_rule_add, chain_rule_edit
from orders.planning.models import ChainRule
from tests import build

pytestmark = pytest.mark.django_db


def method(code):
    return build.MethodFactory(code=code)


def add(stamp, after="cut", to="monitor", **more):
    facts = {"code": f"{after}-{to}", "purpose": "check", "least_days": 30, "most_days": 90, "source": "invented"}
    return chain_rule_add(after=method(after), method=method(to), stamp=stamp, **{**facts, **more})


def test_it_keeps_a_rule(stamp):
    rule = add(stamp, share=0.5, species="resprouts")
    assert (rule.after.code, rule.method.code, rule.share, rule.species) == ("cut", "monitor", 0.5, "resprouts")


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"most_days": 29}, "most_days"),
        ({"share": 0.0}, "share"),
        ({"share": 1.5}, "share"),
        ({"source": " "}, "source"),
        ({"purpose": "hope"}, "purpose"),
        ({"species": "all"}, "species"),
    ],
)
def test_it_names_the_field_that_is_wrong(stamp, more, field):
    with pytest.raises(Invalid) as refused:
        add(stamp, **more)
    assert field in [error.field for error in refused.value.errors]
    assert not ChainRule.objects.exists()


def test_a_code_stands_once(stamp):
    add(stamp)
    with pytest.raises(Invalid):
        add(stamp)


def test_it_refuses_rules_that_lead_back(stamp):
    add(stamp, "dormant-foliar")
    add(stamp, "monitor", "dormant-foliar", after_purpose="check", purpose="again")
    with pytest.raises(Invalid) as refused:
        add(stamp, "dormant-foliar", code="round", after_purpose="again")
    assert [error.field for error in refused.value.errors] == ["method"]


def test_the_same_method_for_another_purpose_leads_on(stamp):
    add(stamp, "hand-pull", "hand-pull", purpose="revisit")
    add(stamp, "hand-pull", "monitor", after_purpose="revisit")
    with pytest.raises(Invalid):
        add(stamp, "hand-pull", "hand-pull", code="round", after_purpose="revisit", purpose="revisit")


def test_a_rule_that_is_off_leads_nowhere(stamp):
    add(stamp, "dormant-foliar")
    again = add(stamp, "monitor", "dormant-foliar", after_purpose="check", purpose="again")
    chain_rule_edit(rule=again, values={"is_active": False}, expected=1, stamp=stamp)
    add(stamp, "dormant-foliar", code="round", after_purpose="again")
    with pytest.raises(Invalid):
        chain_rule_edit(rule=again, values={"is_active": True}, expected=2, stamp=stamp)


def test_an_edit_counts_the_version_and_keeps_the_code(stamp):
    rule = add(stamp)
    chain_rule_edit(rule=rule, values={"least_days": 60}, expected=1, stamp=stamp)
    assert (rule.least_days, rule.version) == (60, 2)
    with pytest.raises(VersionMismatch):
        chain_rule_edit(rule=rule, values={"least_days": 61}, expected=1, stamp=stamp)
    with pytest.raises(Invalid):
        chain_rule_edit(rule=rule, values={"code": "other"}, expected=2, stamp=stamp)
