"""Writes of the rules of chains: what comes after a method, and when."""

from collections.abc import Iterable, Mapping
from typing import Any

from orders.common.errors import FieldError, Invalid
from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import Method
from orders.planning.models import ChainRule

Step = tuple[int, str]  # a method's key and the purpose that it serves; "": the first work
EDITABLE = (
    "after",
    "after_purpose",
    "species",
    "purpose",
    "method",
    "least_days",
    "most_days",
    "share",
    "is_active",
    "source",
)


@writing()
def chain_rule_add(
    *,
    code: str,
    after: Method,
    purpose: str,
    method: Method,
    least_days: int,
    most_days: int,
    source: str,
    after_purpose: str = "",
    species: str = "any",
    share: float = 1.0,
    stamp: Stamp,
) -> ChainRule:
    """Add a rule. Rules of one purpose after one step are alternatives, in the order of their codes."""
    rule = ChainRule(
        code=code,
        after=after,
        after_purpose=after_purpose,
        species=species,
        purpose=purpose,
        method=method,
        least_days=least_days,
        most_days=most_days,
        share=share,
        source=source,
    )
    return row_add(rule, stamp=stamp, verb="chain_rule_add", findings=_checked(rule))


@writing()
def chain_rule_edit(*, rule: ChainRule, values: Mapping[str, Any], expected: int, stamp: Stamp) -> ChainRule:
    """Change a rule; prescriptions that it made stay as they are. One that is not active makes no more."""
    unknown = [FieldError(name, "cannot be changed") for name in values if name not in EDITABLE]
    if unknown:
        raise Invalid("The chain rule was not changed.", unknown)
    proposed = ChainRule.objects.get(pk=rule.pk)
    for name, value in values.items():
        setattr(proposed, name, value)
    _checked(proposed).refuse("The chain rule was not changed.")
    return row_edit(rule, stamp=stamp, verb="chain_rule_edit", expected=expected, values=dict(values))


def _checked(rule: ChainRule) -> Findings:
    found = Findings()
    found.need(rule.most_days >= rule.least_days, "most_days", "Must not be less than least_days.")
    found.need(0 < rule.share <= 1, "share", "Must be above 0 and at most 1.")
    found.need(bool(rule.source.strip()), "source", "Say where the figures come from.")
    others = ChainRule.objects.filter(is_active=True).exclude(pk=rule.pk)
    pairs = others.values_list("after_id", "after_purpose", "method_id", "purpose")
    steps = [((after, after_purpose), (method, purpose)) for after, after_purpose, method, purpose in pairs]
    if rule.is_active:
        own = ((rule.after_id, rule.after_purpose), (rule.method_id, rule.purpose))
        found.need(not _leads_back(own, steps), "method", "These rules would lead back to where they began.")
    return found


def _leads_back(own: tuple[Step, Step], steps: Iterable[tuple[Step, Step]]) -> bool:
    """Whether what a new step leads to leads to the step's own beginning."""
    begin, reached = own
    after: dict[Step, set[Step]] = {}
    for first, second in steps:
        after.setdefault(first, set()).add(second)
    seen, waiting = set[Step](), [reached]
    while waiting:
        step = waiting.pop()
        if step == begin:
            return True
        if step not in seen:
            seen.add(step)
            waiting += after.get(step, ())
    return False
