"""What the explanation of an estimate says that a season of closed orders is judged by; kept in columns of its own,
since an explanation takes a hundred times as long to read."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from estimating.inputs import GROWTH_FORMS


def survey_log_sd(result: Mapping[str, Any]) -> float:
    """The survey's part of the estimate's own spread."""
    told = result.get("field_person_hours", {})
    return float(told.get("survey_log_sd") or 0.0) if isinstance(told, dict) else 0.0


def form_shares(result: Mapping[str, Any], inputs: Mapping[str, Any]) -> dict[str, float]:
    """Shares of an estimate's hours by growth form: by the steps that name one; else by area. Empty: not told."""
    hours: dict[str, float] = defaultdict(float)
    for step in result.get("steps", []):
        for part in step.get("parts", []):
            if part.get("growth_form"):
                hours[part["growth_form"]] += float(part.get("hours") or 0.0)
    if not sum(hours.values()):
        for component in inputs.get("components", []):
            hours[GROWTH_FORMS[component["growth_form"]]] += float(component["infested_area_m2"])
    total = sum(hours.values())
    return {form: amount / total for form, amount in hours.items()} if total else {}
