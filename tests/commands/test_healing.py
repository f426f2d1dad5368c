"""What came before the thing that it names is held, and applied by itself as soon as that comes."""

from datetime import timedelta
from itertools import permutations
from uuid import uuid4

import pytest

from orders.commands.healing import KEPT_TRYING
from orders.commands.queue import command_take
from orders.commands.settling import settle_flag
from orders.field.models import CheckInStep, Command, Flag
from orders.field.services.commands import Contact
from orders.workorders.models import Application, ApplicationRecord, MixBatch, MixDayEnd
from tests import build
from tests.commands.season import DAY, SAID
from tests.commands.sender import Sender

pytestmark = pytest.mark.django_db


@pytest.fixture
def other(season):
    """Another tablet of the same lead: what it sends."""
    sender = Sender(build.DeviceFactory(users=[season.sender.user]), season.sender.user)

    def send(kind, body, *, order=None, days=0):
        named = str(season.order.public_id) if order else None
        contact = Contact(sender.device, season.contact.at + timedelta(days=days))
        return command_take(contact=contact, sent=sender.envelope(kind, body, order=named, happened_at=SAID))

    return send


def _record(season, batch):
    body = {"id": str(uuid4()), "batch": batch["id"], "site": str(season.site.public_id), "work_date": str(DAY)}
    return {**body, "responsible": str(season.lead.public_id), "values": {}, "signed_by": "A. Lead"}


def _held():
    return list(Command.objects.filter(state="held").values_list("kind", flat=True))


def test_it_applies_a_use_when_its_mix_comes_from_another_tablet(season, other):
    batch = season.batch()
    told = season.send("application", season.application(batch), order=True)
    assert (told["state"], Application.objects.count()) == ("held", 0)
    assert other("mix-batch", batch)["state"] == "applied"
    assert Application.objects.get().batch == MixBatch.objects.get()
    flag = Flag.objects.get(kind="held")
    assert (flag.state, flag.resolution, flag.settled_by) == ("settled", "came_later", None)
    assert Command.objects.get(kind="application").state == "settled"


def test_it_answers_a_repeat_as_before(season, other):
    batch = season.batch()
    envelope = season.sender.envelope("application", season.application(batch), order=str(season.order.public_id))
    first = command_take(contact=season.contact, sent=envelope)
    other("mix-batch", batch)
    assert command_take(contact=season.contact, sent=envelope) == first
    assert Application.objects.count() == 1


@pytest.mark.parametrize("places", list(permutations(range(4))))
def test_it_comes_to_the_same_facts_in_any_order(season, places):
    """Four tablets, and one thing on each; the record waits for the use, and both for the mix."""
    batch = season.batch()
    order = str(season.order.public_id)
    told = [
        ("mix-batch", batch, None),
        ("application", season.application(batch), order),
        ("mix-day-end", season.day_end(batch), None),
        ("application-record", _record(season, batch), None),
    ]
    for place in places:
        kind, body, named = told[place]
        sender = Sender(build.DeviceFactory(users=[season.sender.user]), season.sender.user)
        contact = Contact(sender.device, season.contact.at)
        command_take(contact=contact, sent=sender.envelope(kind, body, order=named, happened_at=SAID))
    assert [row.objects.count() for row in (MixBatch, Application, MixDayEnd, ApplicationRecord)] == [1, 1, 1, 1]
    assert _held() == []
    assert not Flag.objects.filter(kind="held", state="open").exists()


def test_it_waits_on_where_a_second_thing_is_missing(season, other):
    batch, first = season.batch(), season.batch()
    use = season.application(first)
    season.send("application", season.application(batch, replaces=use["id"]), order=True)
    other("mix-batch", batch)
    assert _held() == ["application"]
    other("mix-batch", first)
    other("application", use, order=True)
    assert _held() == []
    assert Application.objects.get(replaces__isnull=False).replaces == Application.objects.get(replaces__isnull=True)


def test_it_applies_a_check_out_when_its_check_in_comes(season, other):
    body = season.check_in()
    season.send("check-out", {"id": str(uuid4()), "check_in": body["id"]})
    other("check-in", body)
    assert CheckInStep.objects.get().check_in.public_id.hex == body["id"].replace("-", "")


def test_it_leaves_to_a_person_what_another_reason_holds_now(season, other):
    batch = season.batch()
    season.send("application", season.application(batch, volume_ul=-1), order=True)
    season.send("application", season.application(batch, people=[str(uuid4())]), order=True)
    other("mix-batch", batch)
    assert _held() == ["application"]
    assert Flag.objects.get(kind="held").state == "open"


def test_it_gives_up_after_a_long_time(season, other):
    batch = season.batch()
    season.send("application", season.application(batch), order=True)
    other("mix-batch", batch, days=KEPT_TRYING.days + 1)
    assert _held() == ["application"]


def test_it_goes_on_when_a_person_applies_what_was_waited_for(season, other, stamp):
    """The mix itself was held: it names a lot that is not here."""
    batch = season.batch()
    lot = batch["parts"][0]["lot"] = str(uuid4())
    other("mix-batch", batch)
    season.send("application", season.application(batch), order=True)
    assert sorted(_held()) == ["application", "mix-batch"]
    build.StockLotFactory(product=season.product, public_id=lot)
    flag = Flag.objects.get(kind="held", command__kind="mix-batch")
    settle_flag(flag=flag, resolution="apply_again", note="The lot was entered.", stamp=stamp)
    assert _held() == []
    assert Application.objects.count() == 1
