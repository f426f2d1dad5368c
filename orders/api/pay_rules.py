"""By which rules people are paid, and a week's pay figured on trial. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from estimating.errors import InvalidFact
from estimating.pay import PayRules, WeekPay, Worked, pay_week
from estimating.pay_types import DAY_MINUTES, FEDERAL_WEEK_MINUTES, METHODS, ROUNDINGS
from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord
from orders.api.operations import takes, writes
from orders.api.paging import ListEndpoint
from orders.api.pay import MOST_FRINGE_E4, MOST_RATE_E4
from orders.api.shapes import Out, Row
from orders.bodies.base import Body, many
from orders.bodies.fields import Cents, Choice, Day, Flag, Text, Whole
from orders.common.errors import FieldError, Invalid
from orders.costs.pay_selectors import overtime_rules, pay_policies
from orders.costs.pay_words import SPREAD_WORDS
from orders.costs.services import overtime_rule_set, pay_policy_set
from orders.sites.selectors import jurisdiction_by_code

MOST_PIECES = 200


class PayPolicyOut(Row):
    from_day = serializers.DateField(help_text="The first day of a workweek.")
    week_starts_on = serializers.IntegerField(help_text="Monday is 0, Sunday 6.")
    week_starts_minute = serializers.IntegerField(help_text="Minutes after midnight.")
    time_zone = serializers.CharField()
    overtime_method = serializers.ChoiceField(METHODS)
    rounding = serializers.ChoiceField(ROUNDINGS)
    spread = serializers.ChoiceField(SPREAD_WORDS, help_text="Which work bears the premium.")
    punch_minutes = serializers.IntegerField(help_text="Punches are rounded to so many; 0: not.")
    premium_fringe_e4 = serializers.IntegerField(help_text="Payroll taxes on the premium, 1/10,000 of it.")
    comp_time = serializers.BooleanField(help_text="May time off be given instead of the premium?")
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class PayPolicyIn(Body):
    from_day = Day()
    week_starts_on = Whole(max_value=6)
    week_starts_minute = Whole(max_value=DAY_MINUTES - 1, default=0)
    time_zone = Text(max_length=40)
    overtime_method = Choice(METHODS)
    rounding = Choice(ROUNDINGS, default="exact")
    spread = Choice(SPREAD_WORDS, default="week")
    punch_minutes = Whole(max_value=15, default=0)
    premium_fringe_e4 = Whole(max_value=MOST_FRINGE_E4, default=0)
    comp_time = Flag(default=False)
    source = Text(max_length=200)  # type: ignore[assignment]


class PayPolicies(ListEndpoint):
    endpoint = "pay-policies"
    row = PayPolicyOut
    sorts = {"from_day": "from_day"}
    usual_sort = "from_day"

    def rows(self) -> QuerySet[Any]:
        """How the program pays, from which day on."""
        return pay_policies(self.actor)

    @writes(PayPolicyOut, body=PayPolicyIn)
    def post(self) -> Any:
        """Set how the program pays from the first day of a workweek on; what was before stays for its days."""
        return pay_policy_set(stamp=self.stamp(), **self.body)


class OvertimeRuleOut(Row):
    jurisdiction = serializers.CharField(
        source="jurisdiction.code",
        allow_null=True,
        default=None,
        help_text="null: the federal rule.",
    )
    from_day = serializers.DateField()
    week_minutes = serializers.IntegerField(help_text="Time and a half beyond; never more than 2,400.")
    day_minutes = serializers.IntegerField(allow_null=True, help_text="Time and a half beyond.")
    day_double_minutes = serializers.IntegerField(allow_null=True, help_text="Double time beyond.")
    seventh_day = serializers.BooleanField(help_text="Time and a half on the seventh day in a row.")
    reviewed_by = serializers.CharField(help_text="Empty: no payroll professional has reviewed it.")
    source = serializers.CharField()  # type: ignore[assignment]


class WeekLimits(Body):
    week_minutes = Whole(min_value=1, max_value=FEDERAL_WEEK_MINUTES, default=FEDERAL_WEEK_MINUTES)
    day_minutes = Whole(min_value=1, max_value=DAY_MINUTES, required=False, allow_null=True)
    day_double_minutes = Whole(min_value=1, max_value=DAY_MINUTES, required=False, allow_null=True)
    seventh_day = Flag(default=False)


class OvertimeRuleIn(WeekLimits):
    jurisdiction = Text(max_length=10, required=False, help_text="Its code; left out: the federal rule.")
    from_day = Day()
    reviewed_by = Text(max_length=120, required=False, allow_blank=True, default="")
    source = Text(max_length=200)  # type: ignore[assignment]


class OvertimeRuleFilter(Filters):
    jurisdiction = OfWord(field_name="jurisdiction__code")


class OvertimeRules(ListEndpoint):
    endpoint = "overtime-rules"
    row = OvertimeRuleOut
    filters = OvertimeRuleFilter
    sorts = {"jurisdiction": "jurisdiction__code", "from_day": "from_day"}
    usual_sort = "jurisdiction"

    def rows(self) -> QuerySet[Any]:
        """When work becomes overtime, by jurisdiction and day. State rules differ: a payroll professional reviews."""
        return overtime_rules(self.actor)

    @writes(OvertimeRuleOut, body=OvertimeRuleIn, names_others=True)
    def post(self) -> Any:
        """Set a rule from a day on. Beyond 40 h a week it is always overtime."""
        code = self.body.pop("jurisdiction", None)
        where = jurisdiction_by_code(code) if code else None
        return overtime_rule_set(jurisdiction=where, stamp=self.stamp(), **self.body)


class PieceIn(Body):
    key = Text(max_length=60)
    minutes = Whole(max_value=DAY_MINUTES * 2)
    rate_e4 = Whole(max_value=MOST_RATE_E4, help_text="1/10,000 dollars an hour.")
    day = Whole(max_value=6, default=0, help_text="Of the workweek; pieces of a day in the order of time.")


class RulesIn(WeekLimits):
    method = Choice(METHODS, default="weighted")
    rounding = Choice(ROUNDINGS, default="exact")


class PayWeekIn(Body):
    pieces = many(PieceIn, most=MOST_PIECES)
    rules = RulesIn(required=False)
    bonus_cents = Cents(max_value=10**9, default=0)


class PayLineOut(Out):
    words = serializers.CharField()
    minutes = serializers.IntegerField()
    rate = serializers.CharField(help_text="Dollars an hour, as an exact ratio such as 32/3.")
    cents = serializers.IntegerField()


class PayWeekOut(Out):
    straight_cents = serializers.IntegerField()
    bonus_cents = serializers.IntegerField()
    premium_cents = serializers.IntegerField(help_text="What overtime adds to straight time.")
    total_cents = serializers.IntegerField()
    worked_minutes = serializers.IntegerField()
    overtime_minutes = serializers.IntegerField(help_text="At time and a half.")
    double_minutes = serializers.IntegerField(help_text="At double time.")
    regular_rate = serializers.CharField(help_text="Dollars an hour, as an exact ratio.")
    lines = PayLineOut(many=True, help_text="Their cents sum to the total.")
    overtime_by_piece = serializers.ListField(
        child=serializers.IntegerField(), help_text="Minutes beyond a threshold, parallel to the pieces."
    )


class CalculationPayWeek(Endpoint):
    endpoint = "calculation-pay-week"

    @takes(PayWeekOut, body=PayWeekIn, status=200)
    def post(self) -> WeekPay:
        """A workweek's pay from hours and rates, line by line; nothing is kept."""
        try:
            rules = PayRules(**self.body.get("rules", {}))
            worked = [Worked(**piece) for piece in self.body["pieces"]]
            return pay_week(worked, rules, bonus_cents=self.body["bonus_cents"])
        except InvalidFact as wrong:
            field = FieldError(wrong.field or "pieces", wrong.message)
            raise Invalid("This week cannot be figured as asked.", [field]) from wrong
