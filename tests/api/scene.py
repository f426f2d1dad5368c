"""A season with one order for one crew, and everybody who may or may not see it."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from orders import flow
from orders.bodies.statements import StatementIn
from orders.bodies.statements import statement as read_statement
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.services.entries import Payer
from orders.costs.services.posting import order_fund
from orders.planning.models import Prescription, Visit
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits
from orders.workorders.services import order_draft
from orders.workorders.statements import Statement
from tests import build
from tests.api.caller import Caller
from tests.flow.world import BEGIN, WORK_DAY, World, prescribed, world_build

VISIT_DAY = date(2027, 2, 1)


@dataclass
class Scene:
    """`lead` is the crew's, `mate` another lead of the same crew, `stranger` the lead of another."""

    world: World
    prescription: Prescription
    visit: Visit
    order: WorkOrder
    other_crew: Any
    users: dict[str, User]

    def as_(self, name: str) -> Caller:
        return Caller(self.users[name])

    def stamp(self, name: str = "coordinator", reason: str = "") -> Stamp:
        return Stamp(by=self.users[name], at=BEGIN, reason=reason)

    @property
    def address(self) -> str:
        return f"/api/work-orders/{self.order.public_id}"

    def issue(self) -> WorkOrder:
        flow.issue_order(order=self.order, stamp=self.stamp())
        return self.order


def scene_build() -> Scene:
    """The order is a draft, paid by one fund."""
    world = world_build()
    prescription = prescribed(world)
    visit = build.VisitFactory(
        season=world.season,
        crew=world.crew,
        site=world.patch.site,
        day=VISIT_DAY,
        prescriptions=[prescription],
    )
    Prescription.objects.filter(pk=prescription.pk).update(state="planned")
    stamp = world.stamp()
    order = order_draft(visits=[visit], stamp=stamp)
    order_fund(order=order, shares=[Payer(world.fund, None, 10_000)], stamp=stamp)
    other_crew = build.CrewFactory(name="Far crew")
    users = {"coordinator": world.coordinator, "finance": world.finance, "lead": world.lead}
    users |= {"mate": lead_of(world.crew, "mate"), "stranger": lead_of(other_crew, "stranger")}
    for role in ("pesticide_supervisor", "administrator"):
        users[role] = build.UserFactory(username=role, roles=[role])
    return Scene(world, prescription, visit, order, other_crew, users)


def lead_of(crew: Any, name: str) -> User:
    user = build.UserFactory(username=name, roles=["crew_lead"])
    build.CrewMembershipFactory(crew=crew, is_lead=True, person=build.PersonFactory(name=name, user=user))
    return user


def statement(order: WorkOrder, *, percent: int = 100, minutes: int = 300, **more: Any) -> dict[str, Any]:
    """The close-out as a tablet sends it."""
    visit = order_visits(order)[0]
    people = [member.person for member in order.crew.memberships.order_by("id")]
    times = [
        {"visit": str(visit.public_id), "person": str(person.public_id), "minutes": minutes, "origin": "typed"}
        for person in people[:3]
    ]
    outcomes = [{"prescription": str(row.public_id), "percent_complete": percent} for row in order_prescriptions(order)]
    stated = {"work_date": str(visit.day), "happened_at": WORK_DAY.isoformat(), "confirmed_by": "A. Lead"}
    return {**stated, "outcomes": outcomes, "times": times, **more}


def stated(order: WorkOrder, **more: Any) -> Statement:
    """The same as the domain takes it."""
    checked = StatementIn(data=statement(order, **more))
    checked.is_valid(raise_exception=True)
    return read_statement(dict(checked.validated_data))
