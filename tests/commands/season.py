"""A crew lead with a tablet, an issued order to spray one patch, and a way to send what happened there."""

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import uuid4

from orders.commands.queue import command_take
from orders.crews.models import Person
from orders.field.models import Flag
from orders.field.services.commands import Contact
from orders.workorders.selectors import order_prescriptions, order_visits
from tests import build
from tests.commands.sender import Sender
from tests.workorders.orders import herbicide, issued, spray_order

DAY = date(2027, 2, 10)
BEGAN, ENDED = "2027-02-10T09:00:00-05:00", "2027-02-10T10:30:00-05:00"
SAID = "2027-02-10T15:00:00-05:00"


@dataclass
class Season:
    sender: Sender
    contact: Contact
    order: Any
    product: Any
    lot: Any

    @property
    def crew(self):
        return self.order.crew

    @property
    def site(self):
        return self.order.site

    @property
    def people(self):
        return list(Person.objects.filter(memberships__crew=self.crew).order_by("id"))

    @property
    def lead(self):
        return self.people[0]

    def send(self, kind, body, *, order=None, **more):
        """The answer. `order=True` names the season's order."""
        named = str(self.order.public_id) if order else None
        sent = self.sender.envelope(kind, body, **{"order": named, "happened_at": SAID, **more})
        return command_take(contact=self.contact, sent=sent)

    def applied(self, kind, body, **more):
        answer = self.send(kind, body, **more)
        assert answer["state"] == "applied", answer
        return answer

    # what the tablet says, as its screens fill it

    def check_in(self, *people, **more):
        named = people or self.people
        body = {"id": str(uuid4()), "crew": str(self.crew.public_id), "site": str(self.site.public_id)}
        return {**body, "back_by": "2027-02-10T17:00:00-05:00", "people": ids(named), **more}

    def batch(self, **more):
        part = {"product": self.product.code, "lot": str(self.lot.public_id), "value": "200", "unit": "mL"}
        return {
            "id": str(uuid4()),
            "crew": str(self.crew.public_id),
            "site": str(self.site.public_id),
            "work_date": str(DAY),
            "mixed_by": str(self.lead.public_id),
            "carrier_ul": 9_800_000,
            "volume_ul": 10_000_000,
            "container": "Backpack 1",
            "parts": [part],
            **more,
        }

    def application(self, batch, **more):
        return {
            "id": str(uuid4()),
            "batch": batch["id"],
            "prescription": str(order_prescriptions(self.order).get().public_id),
            "site": str(self.site.public_id),
            "work_date": str(DAY),
            "responsible": str(self.lead.public_id),
            "people": ids(self.people[:2]),
            "started_at": BEGAN,
            "ended_at": ENDED,
            "volume_ul": 8_000_000,
            "area_m2": 1000.0,
            **more,
        }

    def day_end(self, batch, **more):
        body = {"id": str(uuid4()), "batch": batch["id"], "work_date": str(DAY), "empties": 0}
        return {**body, "carried_over_ul": 0, "disposed_ul": 2_000_000, "how_disposed": "Sprayed out", **more}

    def weather(self, **more):
        body = {"id": str(uuid4()), "site": str(self.site.public_id), "work_date": str(DAY), "purpose": "start"}
        return {**body, "air_temperature_c": 12.0, "relative_humidity_percent": 50.0, "wind_m_s": 2.0, **more}

    def span(self, **more):
        return {
            "id": str(uuid4()),
            "crew": str(self.crew.public_id),
            "person": str(self.lead.public_id),
            "work_date": str(DAY),
            "code": "work",
            "started_at": BEGAN,
            "ended_at": ENDED,
            "minutes": 90,
            "origin": "timer",
            **more,
        }

    def statement(self, *, minutes=320, percent=100, **more):
        visit = str(order_visits(self.order).get().public_id)
        times = [
            {"id": str(uuid4()), "visit": visit, "person": key, "minutes": minutes, "origin": "timer"}
            for key in ids(self.people)
        ]
        outcomes = [
            {"prescription": str(row.public_id), "percent_complete": percent} for row in order_prescriptions(self.order)
        ]
        facts = {"id": str(uuid4()), "work_date": str(DAY), "happened_at": SAID, "confirmed_by": "A. Lead"}
        return {**facts, "outcomes": outcomes, "times": times, "materials": [], **more}


def ids(rows):
    return [str(row.public_id) for row in rows]


def flags():
    """Kind and severity, as they were raised."""
    return list(Flag.objects.order_by("id").values_list("kind", "severity"))


def season_build(sender, contact, **order):
    product = order.pop("product", None) or herbicide()
    season = Season(sender, contact, issued(spray_order(product=product, **order)), product, None)
    season.lot = build.StockLotFactory(product=product)
    build.FundFactory(code="SUSPENSE", is_suspense=True)
    build.StandardRateFactory(role=season.lead.role, from_day=date(2026, 1, 1))
    Person.objects.filter(pk=season.lead.pk).update(user=sender.user)
    return season
