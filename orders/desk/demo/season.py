"""An invented season of work: what crews would have stated, drawn with a fixed seed around the estimates."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np

from orders.crews.selectors import crew_people
from orders.planning.models import Visit, VisitShare
from orders.supplies.models import StockLot
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits
from orders.workorders.statements import MaterialStated, Outcome, Statement, TimeStated

LOG_SPREAD = 0.25  # invented: how far real hours lie from estimated ones
# Invented: what the work of a method truly takes here beside the rate book, so that a season has something to teach.
TRUE_RATIOS = {"hand-pull": 1.3, "cut-stem": 1.15, "dormant-foliar": 0.85}
PART_DONE_CHANCE = 0.12
FULL = 100


@dataclass
class Season:
    """One generator for the whole walk, so that the same demo comes out each time."""

    random: np.random.Generator

    def statement(self, order: WorkOrder) -> Statement:
        """What the lead confirms at the end of the order's last day."""
        return self._statement(order, [visit for visit in order_visits(order) if visit.state == "ordered"])

    def statement_again(self, order: WorkOrder) -> Statement:
        """The same for an order that is closed, to amend it."""
        return self._statement(order, [visit for visit in order_visits(order) if visit.state == "done"])

    def _statement(self, order: WorkOrder, visits: list[Visit]) -> Statement:
        last = max(visit.day for visit in visits)
        lead = crew_people(order.crew, last)[0]
        return Statement(
            work_date=last,
            happened_at=local_time(order, last, 16),
            confirmed_by=lead.name,
            outcomes=tuple(self._outcomes(order)),
            times=tuple(stated for visit in visits for stated in self._times(visit)),
            materials=tuple(used for visit in visits for used in self._materials(visit)),
            condition="as planned",
            weather={"air_temperature_c": int(self.random.integers(4, 24)), "wind_m_s": 2.0, "sky": "clear"},
        )

    def _outcomes(self, order: WorkOrder) -> Iterable[Outcome]:
        for asked in order_prescriptions(order):
            part = self.random.random() < PART_DONE_CHANCE
            yield Outcome(asked.public_id, int(self.random.integers(50, 90)) if part else FULL)

    def _times(self, visit: Visit) -> Iterable[TimeStated]:
        """Everybody's paid day: the planned hours of the visit over the crew, off by the season's luck."""
        people = crew_people(visit.crew, visit.day)
        planned = sum(_true_hours(share) for share in visit.shares.all()) / len(people)
        luck = float(self.random.lognormal(0, LOG_SPREAD))
        for person in people:
            minutes = round(planned * luck * float(self.random.normal(1, 0.03)) * 60 / 5) * 5
            yield TimeStated(visit.public_id, person.public_id, max(30, min(minutes, 14 * 60)), self._origin())

    def _origin(self) -> str:
        return "timer" if self.random.random() < 0.7 else "typed"

    def _materials(self, visit: Visit) -> Iterable[MaterialStated]:
        for share in visit.shares.all():
            for code, microliters in sorted(share.prescription.estimate.products_ul.items()):
                lot = StockLot.objects.filter(product__code=code, unit="uL").order_by("received_on", "id").first()
                milliliters = self._milliliters(share, microliters)
                if lot is not None and milliliters:
                    yield MaterialStated(
                        visit.public_id, lot.public_id, milliliters, "mL", prescription=share.prescription.public_id
                    )

    def _milliliters(self, share: VisitShare, microliters: int) -> Decimal:
        used = microliters / 1000 * share.share * share.prescription.share_left * float(self.random.uniform(0.85, 1.0))
        return Decimal(round(used))


def _true_hours(share: VisitShare) -> float:
    """The visit's part of the estimate's paid hours (drive, walk-in and breaks are in them), as they truly go here."""
    asked = share.prescription
    truth = TRUE_RATIOS.get(asked.method.code, 1.0)
    return asked.estimate.paid_person_hours * asked.share_left * share.share * truth


def local_time(order: WorkOrder, day: date, hour: int) -> datetime:
    at = datetime.combine(day, time(hour), tzinfo=ZoneInfo(order.site.time_zone))
    return at.astimezone(UTC)
