"""Crew leads with a tablet and an order each, made straight in the database: what a day of syncing needs."""

import json
from pathlib import Path
from typing import Any

from orders.workorders.models import WorkOrder
from tests import build
from tests.api.scene import Scene, lead_of, scene_build, statement

DAY = "2027-02-01"


def world_make(tablets: int, path: Path) -> None:
    """Write what each tablet needs to know as JSON."""
    scene = scene_build()
    Path(path).write_text(json.dumps([_tablet(scene, number) for number in range(tablets)]))


def _tablet(scene: Scene, number: int) -> dict[str, Any]:
    user = lead_of(scene.world.crew, f"lead {number}")
    token = f"token-{number}"
    build.DeviceFactory(name=f"Tablet {number}", token=token, users=[user])
    order = _order(scene, 1_000 + number)
    person = scene.world.crew.memberships.order_by("id")[0].person
    return {
        "token": token,
        "user": str(user.public_id),
        "crew": str(scene.world.crew.public_id),
        "site": str(order.site.public_id),
        "person": str(person.public_id),
        "order": str(order.public_id),
        "statement": statement(order),
    }


def _order(scene: Scene, number: int) -> WorkOrder:
    where = {"season": scene.world.season, "site": scene.world.patch.site, "crew": scene.world.crew}
    book = scene.prescription.estimate.rate_book
    asked = build.PrescriptionFactory(season=where["season"], estimate__rate_book=book, state="ordered")
    visit = build.VisitFactory(**where, state="ordered", day=DAY, prescriptions=[asked])
    order: WorkOrder = build.WorkOrderFactory(**where, number=number, state="issued", visits=[visit])
    build.OrderFundingFactory(order=order, fund=scene.world.fund)
    return order
