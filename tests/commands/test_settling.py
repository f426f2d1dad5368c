"""A person decides about what was held: apply it, take it instead, put it aside."""

from datetime import UTC, datetime
from random import Random

import pytest
from django.db.models import Sum

from orders import corrections
from orders.commands.comparing import close_outs_compared
from orders.commands.envelope import UPGRADES
from orders.commands.heard import KINDS, Heard, Kind
from orders.commands.queue import batch_take, command_take
from orders.commands.settling import resolutions_open, settle_flag
from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.costs.models import LedgerEntry
from orders.field.models import Command, Flag
from orders.field.services.commands import Contact
from orders.workorders.models import CloseOut
from tests import build
from tests.api.fake_tablet import FakeTablet
from tests.api.scene import scene_build, statement

pytestmark = pytest.mark.django_db
AT = datetime(2027, 2, 1, 22, tzinfo=UTC)


@pytest.fixture
def scene():
    made = scene_build()
    made.issue()
    return made


@pytest.fixture
def decided(scene):
    return Stamp(by=scene.users["coordinator"], at=AT)


@pytest.fixture
def tablet(scene):
    return lambda name, seed=1: _tablet(scene, name, seed)


def _tablet(scene, name, seed):
    device = build.DeviceFactory(users=[scene.users[name]])

    def line(batch):
        taken = batch_take(contact=Contact(device, AT), commands=batch["commands"], is_late=lambda: False)
        return {"answers": taken.answers, "later": taken.later}

    return FakeTablet(line, scene.users[name].public_id, Random(seed))


@pytest.fixture
def two_closes(scene, tablet):
    """The lead's stands, the mate's is held; the flag."""
    for number, name in enumerate(("lead", "mate")):
        own = tablet(name, number)
        own.close(scene.order.public_id, statement(scene.order, minutes=300 + 60 * number, percent=100 - 20 * number))
        own.sync()
    return Flag.objects.get(kind="held")


def _labor():
    return LedgerEntry.objects.filter(category="labor").aggregate(Sum("quantity"))["quantity__sum"]


def test_it_shows_two_close_outs_side_by_side(two_closes):
    sides = close_outs_compared(two_closes.command)
    assert sides is not None
    told = {(line.group, line.name): (line.standing, line.held) for line in sides.lines if line.differs}
    people = [pair for (group, _), pair in told.items() if group == "people"]
    assert people == [(300, 360)] * 3
    assert [pair for (group, _), pair in told.items() if group == "outcomes"] == [(100, 80)]
    assert {group for group, _ in told} == {"people", "outcomes"}
    assert sides.standing.by.username == "lead"


def test_it_compares_nothing_where_nothing_stands(scene, tablet):
    own = tablet("stranger")
    own.close(scene.order.public_id, statement(scene.order))
    own.sync()
    assert close_outs_compared(Command.objects.get()) is None


def test_it_takes_the_held_close_out_instead(scene, two_closes, decided):
    assert [code for code, _ in resolutions_open(two_closes)] == ["take_instead", "put_aside"]
    settle_flag(flag=two_closes, resolution="take_instead", note="The mate was there till the end.", stamp=decided)
    first, second = CloseOut.objects.order_by("revision")
    assert (second.amends, second.by, second.reason) == (first, decided.by, "The mate was there till the end.")
    assert _labor() == 3 * 360
    settled = Flag.objects.get(pk=two_closes.pk)
    assert (settled.state, settled.resolution) == ("settled", "take_instead")
    command = Command.objects.get(state="settled")
    assert (command, command.answer and command.answer["state"]) == (settled.command, "held")


def test_it_puts_a_close_out_aside(two_closes, decided):
    settle_flag(flag=two_closes, resolution="put_aside", note="The lead's is right.", stamp=decided)
    assert CloseOut.objects.count() == 1
    assert Command.objects.filter(state="settled").count() == 1
    assert Change.objects.filter(verb="command_settle").count() == 1


def test_it_applies_what_was_held_once_somebody_decides(scene, tablet, decided):
    """Another crew did the work of an order that was given away."""
    own = tablet("stranger")
    own.close(scene.order.public_id, statement(scene.order))
    own.sync()
    flag = Flag.objects.get(kind="held")
    assert flag.data["code"] == "order_not_yours"
    assert [code for code, _ in resolutions_open(flag)] == ["apply_again", "put_aside"]
    settle_flag(flag=flag, resolution="apply_again", note="They filled in.", stamp=decided)
    assert CloseOut.objects.get().by == scene.users["stranger"]
    assert _labor() == 900


def test_it_changes_nothing_where_it_still_cannot_be_applied(scene, tablet, decided):
    corrections.void_order(order=scene.order, stamp=decided.because("Not needed."))
    own = tablet("lead")
    own.write("start-order", {}, scene.order.public_id)
    own.sync()
    flag = Flag.objects.get(kind="held")
    with pytest.raises(WrongState):
        settle_flag(flag=flag, resolution="apply_again", note="Try.", stamp=decided)
    assert Flag.objects.get(kind="held").state == "open"
    assert Command.objects.get().state == "held"


def test_it_reads_again_what_could_not_be_read(sender, contact, words, monkeypatch, stamp):
    command_take(contact=contact, sent=sender.envelope("word", {"said": "late"}, schema=2))
    flag = Flag.objects.get(kind="unreadable")
    with pytest.raises(Invalid):
        settle_flag(flag=flag, resolution="apply_again", note="Not yet.", stamp=stamp)
    monkeypatch.setitem(UPGRADES, 2, lambda sent: {**sent, "schema": 1, "body": {"word": sent["body"]["said"]}})
    settle_flag(flag=flag, resolution="apply_again", note="Now it is known.", stamp=stamp)
    assert words() == ["late"]


def test_it_tries_again_what_a_fault_of_ours_stopped(sender, contact, words, monkeypatch, stamp, caplog):
    command_take(contact=contact, sent=sender.envelope("word", {"word": "bug"}))
    flag = Flag.objects.get(kind="server_error")
    heard: list[Heard] = []
    monkeypatch.setitem(KINDS, "word", Kind("word", KINDS["word"].body, heard.append))
    settle_flag(flag=flag, resolution="apply_again", note="Mended.", stamp=stamp)
    assert [one.body["word"] for one in heard] == ["bug"]


def test_it_takes_no_other_way_out(two_closes, decided):
    for resolution in ("apply_again", "seen", "nonsense"):
        with pytest.raises(Invalid):
            settle_flag(flag=two_closes, resolution=resolution, note="So.", stamp=decided)


def test_it_settles_a_plain_flag_by_a_note(stamp):
    flag = build.FlagFactory()
    assert [code for code, _ in resolutions_open(flag)] == ["seen"]
    settle_flag(flag=flag, resolution="seen", note="Talked to the crew.", stamp=stamp)
    with pytest.raises(WrongState):
        settle_flag(flag=flag, resolution="seen", note="Again.", stamp=stamp)
    assert resolutions_open(Flag.objects.get()) == []
