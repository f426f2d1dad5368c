"""Orders of the season that crew leads do by tablet, and what comes of one that is closed on two tablets."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np

from orders.commands.settling import PUT_ASIDE, settle_flag
from orders.common.models import User
from orders.crews.selectors import crew_people
from orders.desk.demo.outside import close_say, day_say, morning_say, record_say, spraying_say
from orders.desk.demo.scene import SEED, Walk
from orders.desk.demo.season import Season, local_time
from orders.desk.demo.tablet import DemoTablet
from orders.field.models import Flag
from orders.planning.models import Visit
from orders.workorders.models import ApplicationRecord, CloseOut, WorkOrder
from orders.workorders.records.groups import applications_standing, groups_of
from orders.workorders.selectors import order_prescriptions
from orders.workorders.statements import Statement


@dataclass
class FieldDays:
    """The first order of one visit with herbicide, and the first without, are done by tablet; the latter twice."""

    steps: Walk
    season: Season
    done: dict[bool, WorkOrder] = field(default_factory=dict)
    tablets: list[DemoTablet] = field(default_factory=list)
    random: np.random.Generator = field(default_factory=lambda: np.random.default_rng(SEED + 1))

    def takes(self, order: WorkOrder, visits: list[Visit]) -> bool:
        return len(visits) == 1 and bool(mixes_of(order)) not in self.done

    def work(self, order: WorkOrder, visit: Visit) -> None:
        """All of the day is written down without a signal; in the evening it goes out."""
        tablet, at = self._tablet(order, "Tablet"), local_time(order, visit.day, 8)
        statement = self.season.statement(order)
        evening = statement.happened_at
        check_in = morning_say(tablet, order, visit, at)
        if statement.materials:
            owed = spraying_say(tablet, order, visit, statement.materials, at + timedelta(hours=1))
            tablet.sync(evening)
            record_say(tablet, groups_of(applications_standing().filter(order=order))[0], owed, evening)
        close_say(tablet, order, statement)
        day_say(tablet, order, statement, check_in)
        tablet.sync(evening + timedelta(minutes=10))
        if not statement.materials:
            self._close_twice(order, statement, evening + timedelta(hours=1))
        self.done[bool(statement.materials)] = order

    def tell(self) -> None:
        commands = sum(len(tablet.answers) for tablet in self.tablets)
        sent = sum(tablet.sent for tablet in self.tablets)
        applied = sum(tablet.became()["applied"] for tablet in self.tablets)
        self.steps.tell(
            f"Tablets    {commands} commands written without a signal; a third of the answers was lost, so they were "
            f"sent {sent} times: {applied} applied, {commands - applied} held, none twice"
        )
        twice = self.done[False]
        count = CloseOut.objects.filter(order=twice).count()
        self.steps.tell(
            f"           order {twice.number} was closed on two tablets: {count} close-out, the other was put side by "
            "side with it and set aside"
        )
        for record in ApplicationRecord.objects.order_by("id"):
            owner = f"{record.responsible} at {record.site}"
            self.steps.tell(
                f"           record of {record.work_date}, {owner}: due {record.due_on}, "
                f"{len(record.missing)} fields missing, kept until {record.retain_until}"
            )

    def _close_twice(self, order: WorkOrder, statement: Statement, at: datetime) -> None:
        spare = self._tablet(order, "Spare tablet")
        close_say(spare, order, statement)
        spare.sync(at)
        flag = Flag.objects.get(order=order, kind="held", state="open")
        why = "The same day, typed a second time on the spare tablet."
        settle_flag(flag=flag, resolution=PUT_ASIDE, note=why, stamp=self.steps.stamp("coordinator", at))

    def _tablet(self, order: WorkOrder, name: str) -> DemoTablet:
        stamp = self.steps.stamp("coordinator", local_time(order, order.first_day, 7))
        named = f"{name} of {order.crew}, {order.number}"
        self.tablets.append(DemoTablet.enrolled(named, lead_of(order), self.random, stamp))
        return self.tablets[-1]


def lead_of(order: WorkOrder) -> User:
    users = (person.user for person in crew_people(order.crew, order.first_day))
    return next(user for user in users if user is not None)


def mixes_of(order: WorkOrder) -> set[int]:
    """The keys of what is mixed for it."""
    return {asked.estimate.mix_id for asked in order_prescriptions(order) if asked.estimate.mix_id is not None}
