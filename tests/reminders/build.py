"""Patches with something that climbs and may fruit, orders that serve them, and close-outs. All invented."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from orders.crews.models import Crew
from orders.planning.models import Prescription
from orders.sites.models import Patch, Survey
from orders.workorders.models import CloseOut, WorkOrder
from tests import build

# The species of tests/build fruits from September 1; the margin is 14 days.
YEAR, DUE = 2027, date(2027, 8, 18)
SURVEYED, RECORDED = date(2027, 5, 3), datetime(2027, 5, 4, 15, tzinfo=UTC)
TREATS_THE_CLIMBER = ({"species": "EUFO", "growth_form": 1, "infested_area_m2": 100.0},)


def survey(patch: Patch | None = None, fertile: str = "unknown", form: str = "climbing", **facts) -> Survey:
    """Of one component; by default it climbs and nobody knows whether it is fertile."""
    component = {"growth_form": build.GrowthFormFactory(code=form), "fertile": fertile}
    facts = {"observed_on": SURVEYED, "recorded_at": RECORDED, "components": [component], **facts}
    return build.SurveyFactory(patch=patch or build.PatchFactory(), **facts)


@dataclass
class Job:
    order: WorkOrder
    prescription: Prescription

    @property
    def crew(self) -> Crew:
        return self.order.crew


def crew_with_lead() -> Crew:
    """One crew whose lead has a login."""
    crew = build.CrewFactory()
    person = build.PersonFactory(user=build.UserFactory(roles=["crew_lead"]))
    build.CrewMembershipFactory(crew=crew, person=person, is_lead=True)
    return crew


def job(
    patch: Patch,
    *,
    state: str = "issued",
    share: float = 1.0,
    removes_fruit: str = "yes",
    treats: tuple[dict[str, object], ...] | None = TREATS_THE_CLIMBER,
    prescription: Prescription | None = None,
    crew: Crew | None = None,
    **facts,
) -> Job:
    """An order of one visit that serves a share of one prescription. `facts` are the prescription's."""
    method = build.MethodFactory(code=f"removes-{removes_fruit}", facts={"removes_fruit": removes_fruit})
    inputs = {"version": 1} if treats is None else {"version": 1, "components": list(treats)}
    if prescription is None:
        estimate = build.EstimateFactory(survey__patch=patch, survey__voided_at=RECORDED, method=method, inputs=inputs)
        prescription = build.PrescriptionFactory(patch=patch, estimate=estimate, state="ordered", **facts)
    crew = crew or crew_with_lead()
    visit = build.VisitFactory(site=patch.site, crew=crew, season=prescription.season, state="ordered")
    build.VisitShareFactory(visit=visit, prescription=prescription, share=share)
    order = build.WorkOrderFactory(site=patch.site, crew=crew, season=prescription.season, state=state, visits=[visit])
    return Job(order, prescription)


def remainder(of: Job, share_left: float) -> Job:
    """The rest of a prescription on an order of its own."""
    asked = of.prescription
    rest = build.PrescriptionFactory(
        patch=asked.patch,
        season=asked.season,
        estimate=asked.estimate,
        origin="remainder",
        follows=asked,
        share_left=share_left,
    )
    return job(asked.patch, prescription=rest)


def close(done: Job, on: date, percent: int = 100, amends: CloseOut | None = None) -> CloseOut:
    """The crew's statement, or an amendment of it."""
    type(done.order).objects.filter(pk=done.order.pk).update(state="closed")
    revision = amends.revision + 1 if amends else 1
    close_out = build.CloseOutFactory(order=done.order, work_date=on, revision=revision, amends=amends)
    build.PatchOutcomeFactory(close_out=close_out, prescription=done.prescription, percent_complete=percent)
    return close_out
