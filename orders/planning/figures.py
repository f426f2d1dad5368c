"""What a plan comes to, so that plans can be laid side by side."""

from dataclasses import dataclass
from typing import Any

from orders.planning.models import PlanRun

NAMES = ("area_m2", "deadlines_met", "deadlines_owed", "cost_cents", "person_hours", "visits", "left_out")


@dataclass(frozen=True, kw_only=True)
class PlanFigures:
    """Ground treated (once, however often), seed deadlines met of those owed, cost, person-hours, visits (one crew at
    one site on one day), pieces of work left out, and cost by fund ("": the season's budget)."""

    run: PlanRun
    area_m2: float
    deadlines_met: int
    deadlines_owed: int
    cost_cents: int
    person_hours: float
    visits: int
    left_out: int
    by_fund: dict[str, int]

    def as_json(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in (*NAMES, "by_fund")}

    @classmethod
    def of(cls, run: PlanRun) -> "PlanFigures | None":
        """As the run stored them; None before it is done."""
        return cls(run=run, **run.figures) if run.figures else None
