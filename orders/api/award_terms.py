"""Terms of awards and their statements; a fund or award changed; charges that wait. Finance's alone but for reading."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfId
from orders.api.funds import AwardOut, FundOut, FundRef
from orders.api.operations import Queries, edits, reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import NamedRef, Out, Row, UserRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Cents, Choice, Day, Id, Text, Whole, day_read
from orders.common.errors import FieldError, Invalid
from orders.costs.fund_selectors import CATEGORY_NAMES, award_terms, held_charge_get, held_charges
from orders.costs.selectors import award_get, fund_get
from orders.costs.services.awards import RULESETS, award_edit, award_term_add, fund_edit
from orders.costs.services.held import held_charge_settle
from orders.costs.services.indirect import indirect_post
from orders.costs.statements import award_statement

WORDS = list(CATEGORY_NAMES)
BASES = ["mtdc", "direct", "salaries", "none"]
RULESET_WORDS = [*(one.code for one in RULESETS), "own"]
FIGURES = ("indirect_e4", "subaward_cap_cents", "equipment_threshold_cents", "match_e4", "match_cents")
WHOLE_E4 = 10_000
STATES = [("waiting", "Waiting"), ("settled", "Settled"), ("gone", "Gone")]


class FundEdit(Body):
    name = Text(max_length=120, required=False)
    budget_cents = Cents(required=False, allow_null=True)


class FundOne(Endpoint):
    endpoint = "fund"

    @shows(FundOut)
    def get(self, fund_id: Any) -> Any:
        """One fund."""
        return fund_get(fund_id)

    @edits(FundOut, body=FundEdit)
    def patch(self, fund_id: Any) -> Any:
        """Change its name or what may be spent of it."""
        fund = fund_get(fund_id)
        return fund_edit(fund=fund, values=self.body, expected=self.version_named(fund), stamp=self.stamp())


class AwardEdit(Body):
    name = Text(max_length=120, required=False)
    last_day = Day(required=False)
    ceiling_cents = Cents(required=False)


class AwardOne(Endpoint):
    endpoint = "award"

    @shows(AwardOut)
    def get(self, award_id: Any) -> Any:
        """One award."""
        return award_get(award_id)

    @edits(AwardOut, body=AwardEdit)
    def patch(self, award_id: Any) -> Any:
        """The funder amended it: its name, last day or ceiling. What is charged already must still fit."""
        award = award_get(award_id)
        return award_edit(award=award, values=self.body, expected=self.version_named(award), stamp=self.stamp())


class AwardTermOut(Row):
    award = FundRef()
    from_day = serializers.DateField()
    ruleset = serializers.CharField(help_text="Where the figures come from; the figures decide.")
    indirect_e4 = serializers.IntegerField(help_text="1/10,000 of the base: 1500 is 15%.")
    indirect_base = serializers.CharField()
    subaward_cap_cents = serializers.IntegerField()
    equipment_threshold_cents = serializers.IntegerField()
    match_e4 = serializers.IntegerField(help_text="1/10,000 of what the award pays.")
    match_cents = serializers.IntegerField(help_text="Or this; the larger of the two.")
    allowed_categories = serializers.ListField(child=serializers.CharField(), help_text="Empty: all.")
    at_charge = serializers.CharField(help_text="What the desk is told of a charge that may not be taken.")
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class AwardTermIn(Body):
    award = Id()
    from_day = Day()
    ruleset = Choice(RULESET_WORDS)
    indirect_e4 = Whole(required=False, max_value=WHOLE_E4)
    indirect_base = Choice(BASES, default="none")
    subaward_cap_cents = Cents(required=False)
    equipment_threshold_cents = Cents(required=False)
    match_e4 = Whole(required=False, max_value=WHOLE_E4)
    match_cents = Cents(required=False)
    allowed_categories = serializers.ListField(child=Choice(WORDS), max_length=len(WORDS), required=False)
    at_charge = Choice(["queue", "refuse"], default="queue")
    source = Text(max_length=200)  # type: ignore[assignment]  # the metaclass takes it off again


class AwardTermFilter(Filters):
    award = OfId(field_name="award__public_id")


class AwardTerms(ListEndpoint):
    endpoint = "award-terms"
    row = AwardTermOut
    filters = AwardTermFilter
    sorts = {"id": "id", "from_day": "from_day"}

    def rows(self) -> QuerySet[Any]:
        """Terms of awards. Rows are added; the newest that has begun counts."""
        return award_terms(self.actor)

    @writes(AwardTermOut, body=AwardTermIn, names_others=True)
    def post(self) -> Any:
        """Add the terms that hold from a day on."""
        figures = {name: self.body.pop(name) for name in FIGURES if name in self.body}
        award = award_get(self.body.pop("award"))
        return award_term_add(award=award, figures=figures, stamp=self.stamp(), **self.body)


class RulesetOut(Out):
    code = serializers.CharField()
    name = serializers.CharField()
    indirect_e4 = serializers.IntegerField()
    indirect_base = serializers.CharField()
    subaward_cap_cents = serializers.IntegerField()
    equipment_threshold_cents = serializers.IntegerField()
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class RulesetsOut(Out):
    rows = RulesetOut(many=True)


class AwardRulesets(Endpoint):
    endpoint = "award-rulesets"

    @reports(RulesetsOut, queries=())
    def get(self) -> dict[str, Any]:
        """Figures to begin terms with: the federal ones of before and after October 2024."""
        queries_check(self.request, set())
        return {"rows": RULESETS}


class CategoryCentsOut(Out):
    category = serializers.CharField()
    cents = serializers.IntegerField()


class MonthIndirectOut(Out):
    month = serializers.DateField()
    base_cents = serializers.IntegerField()
    indirect_e4 = serializers.IntegerField()
    cents = serializers.IntegerField()


class AwardStatementOut(Out):
    award = FundRef()
    until = serializers.DateField(help_text="By posting month, this day's included.")
    term = AwardTermOut(allow_null=True)
    direct = CategoryCentsOut(many=True)
    direct_cents = serializers.IntegerField()
    base_cents = serializers.IntegerField(source="base.base_cents")
    left_out_equipment_cents = serializers.IntegerField(source="base.equipment_cents")
    left_out_subaward_cents = serializers.IntegerField(source="base.subaward_cents")
    left_out_other_cents = serializers.IntegerField(source="base.other_cents")
    months = MonthIndirectOut(many=True)
    indirect_cents = serializers.IntegerField(help_text="Posted.")
    indirect_due_cents = serializers.IntegerField(help_text="What the months come to.")
    total_cents = serializers.IntegerField()
    held_cents = serializers.IntegerField(help_text="Meant for this award and waiting in suspense.")
    ceiling_left_cents = serializers.IntegerField()
    match_required_cents = serializers.IntegerField()
    match_earned_cents = serializers.IntegerField()
    beside_cents = serializers.IntegerField(help_text="Funds without an award paid this on the same orders.")
    days_left = serializers.IntegerField()


UNTIL: Queries = (("until", {"type": "string", "format": "date"}, "Today where it is left out."),)


class AwardStatementOne(Endpoint):
    endpoint = "award-statement"

    @reports(AwardStatementOut, queries=UNTIL)
    def get(self, award_id: Any) -> Any:
        """What it was charged, what its rate applies to, what is left, what is matched."""
        queries_check(self.request, {"until"})
        try:
            until = day_read(self.request.query_params.get("until", str(self.today)))
        except ValueError as error:
            raise Invalid("The statement cannot be had.", [FieldError("until", str(error))]) from error
        return award_statement(self.actor, award_get(award_id), until)


class IndirectIn(Body):
    month = Day(help_text="First day of a posting month; of a closed one, the first open month after it takes it.")


class IndirectOut(Out):
    posted = serializers.IntegerField(help_text="Rows posted anew; none where every figure stands already.")


class IndirectCosts(Endpoint):
    endpoint = "indirect-costs"

    @writes(IndirectOut, body=IndirectIn, status=200)
    def post(self) -> dict[str, int]:
        """Bring each award's indirect cost of a month to what its base makes it."""
        return {"posted": len(indirect_post(month=self.body["month"], stamp=self.stamp()))}


class HeldChargeOut(VersionedRow):
    source_kind = serializers.CharField()
    fund = FundRef(help_text="That was meant.")
    award = FundRef(allow_null=True)
    order = Row(allow_null=True)
    person = NamedRef(allow_null=True)
    category = serializers.CharField()
    work_date = serializers.DateField()
    amount_cents = serializers.IntegerField()
    code = serializers.CharField()
    message = serializers.CharField()
    state = serializers.CharField()
    raised_at = serializers.DateTimeField()
    settled_fund = FundRef(allow_null=True)
    settled_award = FundRef(allow_null=True)
    settled_by = UserRef(allow_null=True)
    settled_at = serializers.DateTimeField(allow_null=True)
    reason = serializers.CharField()


class HeldChargeFilter(Filters):
    state = AnyOf(words=STATES)
    award = OfId(field_name="award__public_id")
    fund = OfId(field_name="fund__public_id")


class HeldCharges(ListEndpoint):
    endpoint = "held-charges"
    row = HeldChargeOut
    filters = HeldChargeFilter
    sorts = {"id": "id", "amount_cents": "amount_cents"}

    def rows(self) -> QuerySet[Any]:
        """Charges that the payer meant for them may not take: they stand in suspense until finance says who pays."""
        return held_charges(self.actor)


class HeldSettleIn(Because):
    fund = Id()
    award = Id(required=False, allow_null=True)


class HeldChargeSettle(Endpoint):
    endpoint = "held-charge-settle"

    @writes(HeldChargeOut, body=HeldSettleIn, status=200, names_others=True)
    def post(self, held_charge_id: Any) -> Any:
        """Say who pays: its rows in suspense are reversed and posted anew. The funder's terms still hold."""
        held_charge_settle(
            held=held_charge_get(self.actor, held_charge_id),
            fund=fund_get(self.body["fund"]),
            award=award_get(self.body["award"]) if self.body.get("award") else None,
            posted_on=self.today,
            stamp=self.stamp(self.body["reason"]),
        )
        return held_charge_get(self.actor, held_charge_id)
