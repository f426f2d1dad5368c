"""The plan's background job: read a snapshot, compute, write the result once."""

from collections import defaultdict
from datetime import date
from typing import Any

from estimating.plan import Plan
from estimating.schedule import schedule
from orders.common.runs import CancelAsked, Worker
from orders.estimates.selectors import rate_book_in_force
from orders.planning.convert import Demand, Need, demand
from orders.planning.models import PlanRun, Visit, VisitShare


def plan_job(worker: Worker) -> None:
    """Assign visits to crews and days. Nothing is held open while it computes."""
    run = PlanRun.objects.select_related("season").get(pk=worker.run.pk)
    asked = demand(run.season, rate_book_in_force())
    plan = schedule(asked.plan_input, iterations=run.iterations, progress=worker.keep_going)
    if plan.stopped:
        raise CancelAsked
    with worker.finishing():
        _visits_propose(run, asked, plan)
        PlanRun.objects.filter(pk=run.pk).update(
            inputs_fingerprint=asked.fingerprint,
            left_out=[_left_out(asked.needs[left.visit], left) for left in plan.left_out],
            cost_cents=plan.cost_cents,
            value_cents=plan.value_cents,
        )


def _left_out(need: Need, left: Any) -> dict[str, Any]:
    return {
        "prescription": str(need.prescription.public_id),
        "patch": str(need.prescription.patch),
        "method": need.prescription.method.name,
        "hours": round(need.hours, 2),
        "constraint": left.constraint,
        "because": left.because,
    }


def _visits_propose(run: PlanRun, asked: Demand, plan: Plan) -> None:
    """One visit for each crew, day and site, with the share of each prescription that it serves."""
    grouped: dict[tuple[date, str, int], list[Need]] = defaultdict(list)
    for assignment in plan.assignments:
        need = asked.needs[assignment.visit]
        grouped[assignment.day, asked.crews[assignment.crew].name, need.prescription.patch.site_id].append(need)
    crews = {crew.name: crew for crew in asked.crews.values()}
    for (day, name, site_id), needs in sorted(grouped.items(), key=lambda item: item[0]):
        visit = Visit.objects.create(plan_run=run, season=run.season, crew=crews[name], site_id=site_id, day=day)
        _shares_add(visit, needs)


def _shares_add(visit: Visit, needs: list[Need]) -> None:
    by_prescription: dict[int, list[Need]] = defaultdict(list)
    for need in needs:
        by_prescription[need.prescription.pk].append(need)
    VisitShare.objects.bulk_create(
        VisitShare(
            visit=visit,
            prescription=pieces[0].prescription,
            planned_hours=sum(piece.hours for piece in pieces),
            share=min(1.0, sum(piece.share for piece in pieces)),
        )
        for _, pieces in sorted(by_prescription.items())
    )
