"""Plans of a season: asked for, watched, compared, accepted or dropped as a whole."""

from typing import Any

from django.db.models import QuerySet

from orders import flow
from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId
from orders.api.funding import ShareIn, fund_shares
from orders.api.operations import reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.plan_shapes import AcceptedOut, CompareOut, PlanRunOut, PlanRunRow
from orders.api.queries import AN_ID, ids_read, queries_need, queries_read
from orders.bodies.base import Body, Nothing, many
from orders.bodies.fields import Flag, Id, Number, Whole
from orders.common.models.run import STATES
from orders.common.runs import run_cancel
from orders.planning.figures import PlanFigures
from orders.planning.models import PlanRun
from orders.planning.selectors import plan_run_get, plan_runs, plan_runs_named, season_get
from orders.planning.what_if import WhatIf
from orders.workorders.models import WorkOrder

MOST_COMPARED = 6
LONGEST_EXACT_WORK = 3_600
MOST_EXTRA_CREWS = 3


class PlanRunIn(Body):
    id = Id(required=False)
    season = Id()
    iterations = Whole(default=0, max_value=10_000_000, help_text="Rounds of improvement; 0: the first plan as it is.")
    exact_work = Number(
        default=0.0,
        min_value=0,
        max_value=LONGEST_EXACT_WORK,
        help_text="Of the exact solver, in its own deterministic seconds; 0: not used.",
    )
    seed = Whole(default=0, help_text="The same seed and rounds give the same plan.")


class WhatIfIn(PlanRunIn):
    extra_crews = Whole(default=0, max_value=MOST_EXTRA_CREWS)
    like_crew = Id(required=False, allow_null=True, help_text="Which crew the extra ones are copies of.")
    budget_percent = Number(default=100.0, min_value=10, max_value=200, help_text="Of every budget of the season.")
    no_herbicide = Flag(default=False)
    saturdays = Flag(default=False, help_text="Every crew works on Saturdays too, at the same rates.")


class PlanRunFilter(Filters):
    season = OfId(field_name="season__public_id")
    state = AnyOf(words=STATES)
    purpose = AnyOf(words=PlanRun.PURPOSES)


class _Asking(Endpoint):
    def asked(self) -> dict[str, Any]:
        """What every kind of plan is asked for with."""
        body = self.body
        named = {name: body[name] for name in ("iterations", "exact_work", "seed")}
        return {"season": season_get(body["season"]), "public_id": body.get("id"), "stamp": self.stamp(), **named}


class PlanRuns(ListEndpoint, _Asking):
    endpoint = "plan-runs"
    row = PlanRunRow
    filters = PlanRunFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[PlanRun]:
        """Plans asked for, the newest first."""
        return plan_runs().defer("left_out", "funds", "moved", "course", "faults")

    @writes(PlanRunRow, body=PlanRunIn, status=202, names_others=True, located_at="plan-run")
    def post(self) -> PlanRun:
        """Ask for a plan; a worker makes it in the background."""
        return flow.plan_season(**self.asked())


class PlanRunsAgain(_Asking):
    endpoint = "plan-runs-again"

    @writes(PlanRunRow, body=PlanRunIn, status=202, names_others=True, located_at="plan-run")
    def post(self) -> PlanRun:
        """Plan again after something changed; what stands moves as little as possible.

        The new plan is accepted or dropped as a whole."""
        return flow.plan_again(**self.asked())


class PlanRunsWhatIf(_Asking):
    endpoint = "plan-runs-what-if"

    @writes(PlanRunRow, body=WhatIfIn, status=202, names_others=True, located_at="plan-run")
    def post(self) -> PlanRun:
        """Plan as if there were more crews or days, other money or no herbicide; it is never accepted."""
        named = ("extra_crews", "like_crew", "budget_percent", "no_herbicide", "saturdays")
        what = WhatIf(**{name: self.body[name] for name in named if name in self.body})
        return flow.plan_what_if(what=what, **self.asked())


COMPARED = (("run", {"type": "array", "items": AN_ID, "minItems": 1, "maxItems": MOST_COMPARED}, "Finished plans."),)
NOT_COMPARED = "Plans cannot be compared that way."


class PlanRunsCompare(Endpoint):
    endpoint = "plan-runs-compare"

    @reports(CompareOut, queries=COMPARED, names_others=True, conflicts=True)
    def get(self) -> dict[str, list[PlanFigures]]:
        """Finished plans beside each other: area treated, deadlines met, cost, hours, visits, what is left out."""
        readers = {"run": lambda text: ids_read(text, most=MOST_COMPARED)}
        read = queries_read(self.request, readers, wrong=NOT_COMPARED)
        queries_need(read, ("run",), wrong=NOT_COMPARED)
        return {"plans": flow.compare_plans(runs=plan_runs_named(read["run"]))}


class PlanRunOne(Endpoint):
    endpoint = "plan-run"

    @shows(PlanRunOut)
    def get(self, run_id: Any) -> PlanRun:
        """One plan: how far it is, what it comes to, how good it can be at best, and what it leaves out and why."""
        return plan_run_get(run_id)


class PlanRunCancel(Endpoint):
    endpoint = "plan-run-cancel"

    @writes(PlanRunRow, body=Nothing, status=200)
    def post(self, run_id: Any) -> PlanRun:
        """Stop a plan that is not over; one that was begun keeps the best so far."""
        run_cancel(plan_run_get(run_id), at=self.stamp().at)
        return plan_run_get(run_id)


class AcceptIn(Body):
    funding = many(ShareIn, required=False, most=20, help_text="Who pays for the orders; else the work's own funds.")


class PlanRunAccept(Endpoint):
    endpoint = "plan-run-accept"

    @writes(AcceptedOut, body=AcceptIn, names_others=True)
    def post(self, run_id: Any) -> dict[str, list[WorkOrder]]:
        """Take a finished plan, whole: its visits become the plan, and its orders are drafted or follow."""
        funding = fund_shares(self.body.get("funding", []))
        return {"orders": flow.accept_plan(run=plan_run_get(run_id), funding=funding, stamp=self.stamp())}


class PlanRunDrop(Endpoint):
    endpoint = "plan-run-drop"

    @writes(PlanRunRow, body=Nothing, status=200)
    def post(self, run_id: Any) -> PlanRun:
        """Drop a plan that was not accepted: its proposals fall away, and nothing else changes."""
        return flow.drop_plan(run=plan_run_get(run_id), stamp=self.stamp())
