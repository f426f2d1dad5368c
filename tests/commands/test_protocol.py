"""Any history of the protocol ends the same: each fact once, one close-out an order, nothing that blocks."""

import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, precondition, rule, run_state_machine_as_test

from orders.commands.export import export_import
from orders.commands.queue import batch_take, queue_drain
from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry
from orders.field.models import CheckIn, Command, Device, Flag
from orders.field.services.commands import Contact
from orders.supplies.models import Product
from orders.workorders.models import Application, CloseOut, MixBatch, TimedSpan, WorkOrder
from tests import build
from tests.api.fake_tablet import FakeTablet
from tests.api.scene import scene_build, statement
from tests.workorders.orders import herbicide

BEGIN = datetime(2027, 2, 1, 21, tzinfo=UTC)
GAP = timedelta(minutes=16)
TABLETS = 3  # the first two are of one crew, and both may close its orders
ORDERS = 2
FACTS = (CheckIn, TimedSpan, MixBatch, Application)
tablets = st.integers(0, TABLETS - 1)
orders = st.integers(0, ORDERS - 1)


class Protocol(RuleBasedStateMachine):
    """Tablets write; lines deliver in any order, twice, cut off, or lose the reply; files are carried; time passes."""

    scene: Any
    given: list[WorkOrder]
    product: Product

    def __init__(self) -> None:
        super().__init__()
        self.at = BEGIN
        self.undo = transaction.atomic()
        self.undo.__enter__()
        self.facts: Counter[str] = Counter()
        self.closes: dict[int, list[str]] = {}
        self.batches: list[str] = []

    @initialize(seed=st.integers(0, 2**32))
    def enroll(self, seed: int) -> None:
        users = [self.scene.users[name] for name in ("lead", "mate", "stranger")]
        self.devices = [build.DeviceFactory(users=[user]) for user in users]
        made = zip(self.devices, users, strict=True)
        self.tablets = [
            FakeTablet(self._line(device), user.public_id, Random(seed + device.pk), self.at) for device, user in made
        ]

    def _line(self, device: Device) -> Any:
        def deliver(batch: dict[str, Any]) -> dict[str, Any]:
            return self._deliver(device, batch["commands"], lambda: False)

        return deliver

    def _deliver(self, device: Device, commands: list[dict[str, Any]], is_late: Any) -> dict[str, Any]:
        batch = batch_take(contact=Contact(device, self.at), commands=commands, is_late=is_late)
        told: dict[str, Any] = json.loads(json.dumps({"answers": batch.answers, "later": batch.later}))
        return told

    @rule(number=tablets, order=orders)
    def works(self, number: int, order: int) -> None:
        """A check-in and a span of time: facts of their own."""
        tablet, crew, person = self.tablets[number], self.scene.world.crew, self._person()
        at = self.at.isoformat()
        check_in: dict[str, Any] = {"id": tablet.own_id(), "crew": str(crew.public_id), "people": [person]}
        check_in |= {"site": str(self.given[order].site.public_id), "back_by": at}
        span: dict[str, Any] = {"id": tablet.own_id(), "crew": str(crew.public_id), "person": person}
        span |= {"work_date": "2027-02-01", "code": "work", "minutes": 30, "origin": "typed"}
        tablet.write("check-in", check_in)
        tablet.write("time-span", span, self.given[order].public_id)
        self.facts.update([check_in["id"], span["id"]])

    @rule(number=tablets, order=orders)
    def starts(self, number: int, order: int) -> None:
        self.tablets[number].write("start-order", {}, self.given[order].public_id)

    @rule(number=tablets, order=orders)
    def closes_it(self, number: int, order: int) -> None:
        named = self.tablets[number].close(self.given[order].public_id, statement(self.given[order]))
        if number < TABLETS - 1:
            self.closes.setdefault(order, []).append(named)

    @rule(number=tablets)
    def mixes(self, number: int) -> None:
        """Any tablet may use it, and may be heard before this one is."""
        tablet, crew, person = self.tablets[number], self.scene.world.crew, self._person()
        part = {"product": self.product.code, "lot_text": "torn", "value": "200", "unit": "mL"}
        batch: dict[str, Any] = {"id": tablet.own_id(), "crew": str(crew.public_id), "mixed_by": person}
        batch |= {"site": str(self.given[0].site.public_id), "work_date": "2027-02-01", "container": "Backpack 1"}
        tablet.write("mix-batch", batch | {"carrier_ul": 9_800_000, "volume_ul": 10_000_000, "parts": [part]})
        self.batches.append(batch["id"])
        self.facts.update([batch["id"]])

    @precondition(lambda self: self.batches)
    @rule(number=tablets, order=orders, data=st.data())
    def uses_a_mix(self, number: int, order: int, data: Any) -> None:
        tablet, person, at = self.tablets[number], self._person(), self.at.isoformat()
        use: dict[str, Any] = {"id": tablet.own_id(), "batch": data.draw(st.sampled_from(self.batches))}
        use |= {"site": str(self.given[order].site.public_id), "work_date": "2027-02-01", "volume_ul": 1_000_000}
        use |= {"responsible": person, "people": [person], "started_at": at, "ended_at": at}
        tablet.write("application", use, self.given[order].public_id)
        self.facts.update([use["id"]])

    def _person(self) -> str:
        return str(self.scene.world.crew.memberships.order_by("id")[0].person.public_id)

    @rule(number=tablets)
    def writes_what_nobody_reads(self, number: int) -> None:
        self.tablets[number].write("dance", {"with": "whom"})

    @rule(number=tablets, data=st.data(), is_heard=st.booleans(), cut=st.integers(0, 6))
    def sends(self, number: int, data: Any, is_heard: bool, cut: int) -> None:
        """Any of what was ever written, in any order; cut off after some; the reply comes or is lost."""
        tablet = self.tablets[number]
        if tablet.written:
            sent = data.draw(st.lists(st.sampled_from(tablet.written), max_size=6))
            left = iter([False] * cut)
            told = self._deliver(self.devices[number], sent, lambda: next(left, True))
            if is_heard:
                tablet.hear([*told["answers"], *told["later"]])

    @rule(number=tablets)
    def dies(self, number: int) -> None:
        """The server is gone before the first commit."""
        with transaction.atomic():
            self._deliver(self.devices[number], self.tablets[number].outbox[:1], lambda: False)
            transaction.set_rollback(True)

    @rule(number=tablets)
    def carries_a_file(self, number: int) -> None:
        """The tablet keeps what it holds: it will send it, too."""
        told = {"fencerow": "unsent work", "version": 1, "device": str(self.devices[number].public_id)}
        told |= {"exported_at": self.at.isoformat(), "commands": self.tablets[number].outbox, "photos": []}
        export_import(data=json.dumps(told).encode(), stamp=Stamp(by=None, at=self.at))

    @rule()
    def waits(self) -> None:
        self.at += GAP
        for device in self.devices:
            for _ in queue_drain(device=device, at=self.at):
                pass

    def teardown(self) -> None:
        try:
            if hasattr(self, "tablets"):
                self._end()
        finally:
            transaction.set_rollback(True)
            self.undo.__exit__(None, None, None)

    def _end(self) -> None:
        for tablet in self.tablets:
            tablet.sync()
        self.waits()
        self._check()
        before = _state()
        for tablet, device in zip(self.tablets, self.devices, strict=True):
            again = self._deliver(device, list(reversed(tablet.written)), lambda: False)
            tablet.hear(again["answers"])  # which fails where an answer has changed
        assert _state() == before

    def _check(self) -> None:
        written = [command for tablet in self.tablets for command in tablet.written]
        assert Counter(str(key) for key in Command.objects.values_list("public_id", flat=True)) == Counter(
            command["id"] for command in written
        )
        assert not Command.objects.filter(state="waiting").exists()
        stored = [pair for kind in FACTS for pair in kind.objects.values_list("public_id")]
        assert Counter(str(key) for (key,) in stored) == self.facts
        for number, order in enumerate(self.given):
            self._check_closes(order, self.closes.get(number, []))

    def _check_closes(self, order: WorkOrder, closes: list[str]) -> None:
        """One stands; every other is held, with a flag that is open."""
        sent = Command.objects.filter(order=order, kind="close-order")
        applied, held = sent.filter(state="applied"), sent.filter(state="held")
        assert applied.count() == CloseOut.objects.filter(order=order).count() == min(1, len(closes))
        assert applied.count() + held.count() == sent.count()
        flagged = Flag.objects.filter(command__in=held, kind="held", state="open", severity="settle")
        assert flagged.count() == held.count()
        minutes = LedgerEntry.objects.filter(order_number=order.number, category="labor")
        assert sum(minutes.values_list("quantity", flat=True)) == 900 * applied.count()


def _state() -> list[Any]:
    """What there is; a row more or another state would show."""
    return [
        list(Command.objects.order_by("id").values_list("public_id", "state")),
        list(Flag.objects.order_by("id").values_list("key", "state")),
        list(WorkOrder.objects.order_by("id").values_list("number", "state", "version")),
        list(LedgerEntry.objects.order_by("id").values_list("posting_key", "amount_cents")),
        [kind.objects.count() for kind in (*FACTS, CloseOut)],
    ]


@pytest.mark.django_db
def test_it_ends_the_same_whatever_happens_on_the_way():
    scene = scene_build()
    scene.issue()
    second = build.VisitFactory(
        season=scene.world.season, site=scene.world.patch.site, crew=scene.world.crew, state="ordered", day="2027-02-01"
    )
    book = scene.prescription.estimate.rate_book
    asked = build.PrescriptionFactory(season=scene.world.season, estimate__rate_book=book, state="ordered")
    build.VisitShareFactory(visit=second, prescription=asked)
    other = build.WorkOrderFactory(
        number=99, season=second.season, site=second.site, crew=second.crew, state="issued", visits=[second]
    )
    build.OrderFundingFactory(order=other, fund=scene.world.fund)
    Protocol.scene, Protocol.given, Protocol.product = scene, [scene.order, other], herbicide()
    slow = [HealthCheck.too_slow, HealthCheck.data_too_large]
    settled = settings(max_examples=12, stateful_step_count=20, suppress_health_check=slow, deadline=None)
    run_state_machine_as_test(Protocol, settings=settled)
