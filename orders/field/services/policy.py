"""The program's own rules for work outside."""

from collections.abc import Mapping
from typing import Any

from orders.common.errors import FieldError, Invalid
from orders.common.rows import row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import FieldPolicy
from orders.field.selectors.policy import field_policy

RULES = (
    "lone_saw_work",
    "lone_herbicide_work",
    "least_age",
    "overdue_after_minutes",
    "gap_minutes",
    "split_rule",
)


@writing()
def field_policy_set(*, values: Mapping[str, Any], expected: int, stamp: Stamp) -> FieldPolicy:
    """Change some of the rules."""
    unknown = [FieldError(name, "is no rule for work outside") for name in values if name not in RULES]
    if unknown:
        raise Invalid("The rules were not changed.", unknown)
    return row_edit(field_policy(), stamp=stamp, verb="field_policy_set", expected=expected, values=dict(values))
