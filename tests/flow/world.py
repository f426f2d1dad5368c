"""One site, one patch to pull by hand, one crew: the smallest season, made with the program's own verbs."""

import csv
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from orders import flow
from orders.common.models import User
from orders.common.runs import run_claim, run_perform
from orders.common.stamp import Stamp
from orders.costs.services.entries import Payer
from orders.estimates.services import methods_load, rate_book_draft, rate_book_put_in_force
from orders.planning.models import PlanRun, Prescription
from orders.planning.services import season_add
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits
from orders.workorders.statements import Outcome, Statement, TimeStated
from tests import build

REFERENCE = Path(__file__).resolve().parents[2] / "fixtures" / "reference"
BEGIN = datetime(2026, 12, 1, 15, tzinfo=UTC)
WORK_DAY = datetime(2027, 2, 1, 20, tzinfo=UTC)


def csv_rows(name: str) -> list[dict[str, str]]:
    with (REFERENCE / name).open(newline="") as file:
        return list(csv.DictReader(file))


@dataclass
class World:
    coordinator: User
    finance: User
    lead: User
    patch: Any
    crew: Any
    fund: Any
    season: Any

    def stamp(self, by: User | None = None, at: datetime = BEGIN, reason: str = "") -> Stamp:
        return Stamp(by=by or self.coordinator, at=at, reason=reason)


def mixes_build() -> dict[str, Any]:
    """One mix for work on an area and one for stems, of a product with a price whose label allows all of it."""
    area, stems = ("dormant-foliar", "spot-foliar"), ("cut-stem", "hack-squirt", "basal-bark")
    product = build.ProductFactory(code="usual", name="Usual", uses=[*area, *stems])
    build.PriceFactory(kind="product", code="usual", unit="L", from_day=date(2026, 1, 1), price_e4=80_000)
    sprayed = build.MixFactory(code="usual-area", area_basis="infested", products=[(product, 2.0, "herbicide")])
    dose = {"carrier_l_per_ha": None, "stem_dose_ml_per_cm": 1.0, "tank_l": 1.0}
    dosed = build.MixFactory(code="usual-stems", products=[(product, 25.0, "herbicide")], **dose)
    return dict.fromkeys(area, sprayed) | dict.fromkeys(stems, dosed)


def rates_load(stamp: Stamp) -> None:
    methods_load(rows=csv_rows("methods.csv"), qualification={}, mix=mixes_build(), stamp=stamp)
    book = rate_book_draft(
        name="Reference",
        rows=csv_rows("rate_book.csv"),
        standard_crew={"crew-member": 3},
        skill_roles={"crew": "crew-member", "applicator": "crew-member", "sawyer": "crew-member"},
        stamp=stamp,
    )
    rate_book_put_in_force(book=book, from_day=BEGIN.date(), stamp=stamp)


def crew_build(lead: User, role: object) -> object:
    crew = build.CrewFactory(name="Hollow crew", people=0)
    for number, rate in enumerate((250_000, 210_000, 190_000)):
        person = build.PersonFactory(name=f"Person {number}", role=role, user=lead if number == 0 else None)
        build.CrewMembershipFactory(crew=crew, person=person, is_lead=number == 0, first_day=date(2026, 1, 1))
        build.PayRateFactory(person=person, from_day=date(2026, 1, 1), rate_e4=rate)
    return crew


def world_build() -> World:
    coordinator = build.UserFactory(username="coordinator", roles=["coordinator"])
    finance = build.UserFactory(username="finance", roles=["finance"])
    lead = build.UserFactory(username="lead", roles=["crew_lead"])
    stamp = Stamp(by=coordinator, at=BEGIN)
    role = build.LaborRoleFactory(code="crew-member")
    build.StandardRateFactory(role=role, from_day=date(2026, 1, 1), rate_e4=240_000)
    build.PriceFactory(kind="mileage", code="mileage", unit="mile", from_day=date(2026, 1, 1), price_e4=7250)
    build.PriceFactory(kind="bag", code="bag", unit="each", from_day=date(2026, 1, 1), price_e4=9000)
    patch = build.PatchFactory(code="H-01")
    survey = build.SurveyFactory(patch=patch, gross_area_m2=400, minutes_from_gate=6, slope_deg=4, components=[])
    build.SurveyComponentFactory(
        survey=survey,
        species=build.SpeciesFactory(code="EUFO", evergreen=True, resprouts=True),
        growth_form=build.GrowthFormFactory(code="ground cover"),
        infested_area_m2=120,
        cover_low=0.3,
        cover_likely=0.3,
        cover_high=0.3,
    )
    rates_load(stamp)
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    return World(
        coordinator=coordinator,
        finance=finance,
        lead=lead,
        patch=patch,
        crew=crew_build(lead, role),
        fund=build.FundFactory(code="OPS"),
        season=season_add(name="2027", first_day=date(2027, 1, 4), last_day=date(2027, 12, 17), stamp=stamp),
    )


def run_now(run: PlanRun, at: datetime = BEGIN) -> PlanRun:
    attempt = run_claim(run, at=at)
    assert attempt is not None
    run_perform(run, attempt, clock=lambda: at)
    return PlanRun.objects.get(pk=run.pk)


def prescribed(world: World, method: str = "hand-pull") -> Prescription:
    made = flow.estimate_patches(on=BEGIN.date(), stamp=world.stamp())
    flow.prescribe_season(season=world.season, stamp=world.stamp())
    assert method in {estimate.method.code for estimate in made}
    return Prescription.objects.get(method__code=method)


def drafted(world: World) -> WorkOrder:
    prescribed(world)
    run = run_now(flow.plan_season(season=world.season, stamp=world.stamp()))
    share = Payer(fund=world.fund, award=None, share_e4=10_000)
    orders = flow.accept_plan(run=run, funding=[share], stamp=world.stamp())
    assert len(orders) == 1
    return orders[0]


def issued(world: World) -> WorkOrder:
    return flow.issue_order(order=drafted(world), stamp=world.stamp())


def statement(order: WorkOrder, *, percent: int = 100, minutes: int = 300) -> Statement:
    visit = order_visits(order)[0]
    people = [member.person for member in order.crew.memberships.all()]
    return Statement(
        work_date=visit.day,
        happened_at=WORK_DAY,
        confirmed_by="A. Lead",
        outcomes=tuple(Outcome(row.public_id, percent) for row in order_prescriptions(order)),
        times=tuple(TimeStated(visit.public_id, person.public_id, minutes, "typed") for person in people),
    )
