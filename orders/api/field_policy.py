"""The program's own rules for work outside."""

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import edits, shows
from orders.api.shapes import Out
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Flag, Whole
from orders.field.models import FieldPolicy
from orders.field.selectors.policy import field_policy
from orders.field.services.policy import field_policy_set

LEAST_AGE, GREATEST_AGE = 18, 99
MOST_MINUTES = 1_440
RULES = FieldPolicy._meta.get_field("split_rule").choices


class FieldPolicyOut(Out):
    version = serializers.IntegerField()
    lone_saw_work = serializers.BooleanField()
    lone_herbicide_work = serializers.BooleanField()
    least_age = serializers.IntegerField(help_text="For saws and herbicide, never below 18.")
    overdue_after_minutes = serializers.IntegerField()
    gap_minutes = serializers.IntegerField()
    split_rule = serializers.ChoiceField(list(RULES or ()))


class FieldPolicyIn(Body):
    lone_saw_work = Flag()
    lone_herbicide_work = Flag()
    least_age = Whole(min_value=LEAST_AGE, max_value=GREATEST_AGE)
    overdue_after_minutes = Whole(max_value=MOST_MINUTES)
    gap_minutes = Whole(max_value=MOST_MINUTES)
    split_rule = Choice(list(RULES or ()))


class FieldPolicyOne(Endpoint):
    endpoint = "field-policy"

    @shows(FieldPolicyOut)
    def get(self) -> FieldPolicy:
        """The rules that tablets follow. Limits of labels and rules of law are not among them."""
        return field_policy()

    @edits(FieldPolicyOut, body=FieldPolicyIn)
    def put(self) -> FieldPolicy:
        """Set the rules. Tablets take them up at their next contact."""
        return field_policy_set(values=self.body, expected=self.version_named(field_policy()), stamp=self.stamp())
