"""Chains of treatment: what comes after a method, how long after, and where the figures come from."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfWord, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import MethodRef, Out, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Flag, Number, Text, Whole
from orders.estimates.selectors import method_get
from orders.planning.chain_rules import chain_rule_add, chain_rule_edit
from orders.planning.chains import LaterStep, later_steps
from orders.planning.models import ChainRule
from orders.planning.selectors import chain_rule_get, chain_rules, prescription_get

MOST_DAYS = 3_650


class ChainRuleOut(VersionedRow):
    code = serializers.CharField()
    after = MethodRef()
    after_purpose = serializers.ChoiceField(
        ChainRule.PURPOSES, allow_blank=True, help_text="Only after a step of this purpose; empty: the first."
    )
    species = serializers.ChoiceField(ChainRule.SPECIES)
    purpose = serializers.ChoiceField(ChainRule.PURPOSES)
    method = MethodRef()
    least_days = serializers.IntegerField(help_text="Days after the work before, at least.")
    most_days = serializers.IntegerField(help_text="Days after the work before, at most.")
    share = serializers.FloatField(help_text="Of the estimate of its method on the same survey.")
    is_active = serializers.BooleanField()
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class ChainRuleEdit(Body):
    after = Text(max_length=50, required=False, help_text="A method's code.")
    after_purpose = Choice(ChainRule.PURPOSES, required=False, allow_blank=True)
    species = Choice(ChainRule.SPECIES, required=False)
    purpose = Choice(ChainRule.PURPOSES, required=False)
    method = Text(max_length=50, required=False, help_text="A method's code.")
    least_days = Whole(required=False, max_value=MOST_DAYS)
    most_days = Whole(required=False, max_value=MOST_DAYS)
    share = Number(required=False, min_value=0, max_value=1)
    is_active = Flag(required=False)
    source = Text(required=False, max_length=300)  # type: ignore[assignment]  # the metaclass takes it off again


class ChainRuleIn(Body):
    code = Text(max_length=50)
    after = Text(max_length=50, help_text="A method's code.")
    after_purpose = Choice(ChainRule.PURPOSES, required=False, allow_blank=True)
    species = Choice(ChainRule.SPECIES, required=False)
    purpose = Choice(ChainRule.PURPOSES)
    method = Text(max_length=50, help_text="A method's code.")
    least_days = Whole(max_value=MOST_DAYS)
    most_days = Whole(max_value=MOST_DAYS)
    share = Number(required=False, min_value=0, max_value=1)
    source = Text(max_length=300)  # type: ignore[assignment]  # the metaclass takes it off again


class ChainRuleFilter(Filters):
    after = OfWord(field_name="after__code")
    method = OfWord(field_name="method__code")
    purpose = AnyOf(words=ChainRule.PURPOSES)
    is_active = YesNo()


class _Rules(Endpoint):
    def told(self) -> dict[str, Any]:
        """The body with its methods as rows."""
        return {name: method_get(value) if name in {"after", "method"} else value for name, value in self.body.items()}


class ChainRules(ListEndpoint, _Rules):
    endpoint = "chain-rules"
    row = ChainRuleOut
    filters = ChainRuleFilter
    sorts = {"code": "code"}
    usual_sort = "code"

    def rows(self) -> QuerySet[ChainRule]:
        """What comes after a method; rules of one purpose after one step are alternatives."""
        return chain_rules()

    @writes(ChainRuleOut, body=ChainRuleIn, names_others=True, located_at="chain-rule")
    def post(self) -> ChainRule:
        """Add a rule; it counts for what is prescribed from then on."""
        return chain_rule_add(stamp=self.stamp(), **self.told())


class ChainRuleOne(_Rules):
    endpoint = "chain-rule"

    @shows(ChainRuleOut)
    def get(self, rule_id: Any) -> ChainRule:
        """One rule."""
        return chain_rule_get(rule_id)

    @edits(ChainRuleOut, body=ChainRuleEdit, names_others=True)
    def patch(self, rule_id: Any) -> ChainRule:
        """Change a rule; what it made stays as it is. One that is not active makes no more."""
        rule = chain_rule_get(rule_id)
        expected = self.version_named(rule)
        chain_rule_edit(rule=rule, values=self.told(), expected=expected, stamp=self.stamp())
        return chain_rule_get(rule_id)


class LaterStepOut(Out):
    rule = serializers.CharField(source="rule.code")
    purpose = serializers.CharField(source="rule.purpose")
    method = MethodRef()
    first_day = serializers.DateField(help_text="By its lag alone.")
    last_day = serializers.DateField()
    because = serializers.CharField(help_text="Why no prescription stands for it.")


class LaterStepsOut(Out):
    steps = LaterStepOut(many=True)


class PrescriptionLaterSteps(Endpoint):
    endpoint = "prescription-later-steps"

    @shows(LaterStepsOut)
    def get(self, prescription_id: Any) -> dict[str, list[LaterStep]]:
        """Steps after a prescription that nothing stands for, with why: after the season, or not possible here."""
        return {"steps": later_steps(prescription_get(prescription_id))}
