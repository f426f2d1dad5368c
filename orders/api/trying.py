"""An estimate tried under other conditions: a smaller crew, a hot day, people who are new to it, another mix."""

import re
from collections.abc import Callable
from typing import Any

from rest_framework import serializers

from estimating.inputs import WORKLOADS
from estimating.labels import THE_LAW
from orders import flow
from orders.api.base import Endpoint
from orders.api.estimates import FiguresOut
from orders.api.label_checks import LabelWordOut
from orders.api.operations import Queries, reports
from orders.api.queries import queries_read
from orders.api.shapes import Out
from orders.estimates.selectors import estimate_get
from orders.estimates.trying import (
    HIGHEST_F,
    LAST_DAY_IN_HEAT,
    LOWEST_F,
    MOST_OF_A_ROLE,
    WRONG,
    Trial,
)

WHOLE = re.compile(r"-?[0-9]{1,6}")
NUMBER = re.compile(r"[0-9.eE+-]{1,24}")


class TriedFiguresOut(FiguresOut):
    tank_loads = serializers.FloatField(allow_null=True)
    products_ul = serializers.DictField(help_text="Microliters of each product, by its code.")


class ConditionsOut(Out):
    people = serializers.DictField(child=serializers.IntegerField(), help_text="By labor role.")
    air_temperature_f = serializers.FloatField(allow_null=True, help_text="Null: no heat is counted.")
    workload = serializers.ChoiceField(WORKLOADS)
    new_workers = serializers.IntegerField()
    returning_workers = serializers.IntegerField()
    day_in_heat = serializers.IntegerField()


class TriedOut(Out):
    estimate = serializers.UUIDField(source="tried.estimate.public_id")
    conditions = ConditionsOut(source="tried.day", help_text="All of them, asked for or the estimate's own.")
    mix = serializers.CharField(source="tried.mix", allow_blank=True, help_text="Empty: none.")
    old = TriedFiguresOut(source="tried.old", help_text="As the estimate stands.")
    new = TriedFiguresOut(source="tried.new", allow_null=True, help_text="Null: no figures; the notes say why.")
    notes = serializers.ListField(source="tried.notes", child=serializers.CharField())
    label = LabelWordOut()  # type: ignore[assignment]  # the metaclass takes it off again
    explanation = serializers.DictField(
        source="tried.told", allow_null=True, help_text="Every step, quantity, rate and sum of the new figures."
    )


def people_read(text: str) -> dict[str, int]:
    """ "crew-member:3,sawyer:1"; ValueError for anything else."""
    found: dict[str, int] = {}
    for part in text.split(","):
        role, _, count = part.rpartition(":")
        if not role or role in found or not WHOLE.fullmatch(count):
            raise ValueError("must name each role once with its people, such as crew-member:3,sawyer:1")
        found[role] = int(count)
    return found


def _whole(text: str) -> int:
    if not WHOLE.fullmatch(text):
        raise ValueError("must be a whole number")
    return int(text)


def _number(text: str) -> float:
    try:
        return float(NUMBER.fullmatch(text)[0])  # type: ignore[index]  # no match is refused as no number
    except (TypeError, ValueError):
        raise ValueError("must be a number") from None


READ: dict[str, Callable[[str], Any]] = {
    "people": people_read,
    "air_temperature_f": _number,
    "workload": str,
    "new_workers": _whole,
    "returning_workers": _whole,
    "day_in_heat": _whole,
    "mix": str,
}
SOME = {"type": "integer", "minimum": 0, "maximum": MOST_OF_A_ROLE}
QUERIES: Queries = (
    (
        "people",
        {"type": "string"},
        f"Role and people, such as crew-member:3,sawyer:1; at most {MOST_OF_A_ROLE} a role.",
    ),
    (
        "air_temperature_f",
        {"type": "number", "minimum": LOWEST_F, "maximum": HIGHEST_F},
        "Air temperature, °F: from 90 on the work/rest table for heat counts.",
    ),
    ("workload", {"type": "string", "enum": list(WORKLOADS)}, "How hard the work is, for that table."),
    ("new_workers", SOME, "Of the crew, how many are new to work in heat."),
    ("returning_workers", SOME, "How many come back to it after a break."),
    (
        "day_in_heat",
        {"type": "integer", "minimum": 1, "maximum": LAST_DAY_IN_HEAT},
        "Which day in heat it is for them; 1 the first.",
    ),
    ("mix", {"type": "string"}, "Code of another mix."),
)


def _trial(view: Endpoint) -> Trial:
    """What is asked; what is left out stays as the estimate has it."""
    return Trial(**queries_read(view.request, READ, wrong=WRONG))


class EstimateTry(Endpoint):
    endpoint = "estimate-try"

    @reports(TriedOut, queries=QUERIES, conflicts=True)
    def get(self, estimate_id: Any) -> dict[str, Any]:
        """What the estimate would come to under other conditions, old beside new.

        Nothing is stored. What a label forbids, and what heat stops, has no figures."""
        asked = _trial(self)
        tried, findings = flow.try_estimate(estimate=estimate_get(estimate_id), asked=asked, on=self.today)
        return {"tried": tried, "label": {"on": self.today, "notice": THE_LAW, "findings": findings}}
