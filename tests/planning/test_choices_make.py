"""Choosing for many patches at once: whole, as shown, with its reasons."""

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.planning.choosing import PreviewOutOfDate
from orders.planning.models import ChoiceBatch, Prescription
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def test_it_prescribes_what_the_preview_showed(ground):
    preview = ground.look()
    batch = ground.choose(fingerprint=preview.fingerprint)
    made = {row.patch.code: row for row in Prescription.objects.all()}
    assert {code: row.method.code for code, row in made.items()} == {
        row.line.patch.code: row.method.code for row in preview.new
    }
    assert made["H-02"].why == preview.new[1].because
    assert not any(row.is_own_choice for row in made.values())
    assert batch.parts.filter(act="made").count() == 3


def test_it_keeps_the_coordinators_own_choice_with_the_reason(ground):
    ground.choose("spot-foliar", ground.wide, why="A class works there in January.")
    made = Prescription.objects.get()
    assert (made.is_own_choice, made.why) == (True, "A class works there in January.")


def test_it_asks_for_the_reason(ground):
    with pytest.raises(Invalid) as refused:
        ground.choose("spot-foliar", ground.wide)
    assert refused.value.errors[0].field == "why"
    assert not Prescription.objects.exists()


def test_it_drops_what_it_replaces_in_the_same_write(ground):
    ground.choose("dormant-foliar", ground.wide)
    batch = ground.choose("spot-foliar", ground.wide, why="Late.")
    states = dict(Prescription.objects.values_list("method__code", "state"))
    assert states == {"dormant-foliar": "dropped", "spot-foliar": "open"}
    assert dict(batch.parts.values_list("act", "state_before")) == {"dropped": "open", "made": ""}


def test_it_leaves_out_what_is_refused(ground):
    ground.choose("hand-pull", why="Volunteers asked for it.")
    assert [row.patch.code for row in Prescription.objects.all()] == ["H-01"]


def test_it_refuses_where_nothing_is_left(ground):
    with pytest.raises(Invalid) as refused:
        ground.choose("cut-stem", why="Try it.")
    assert "H-02" in " ".join(error.message for error in refused.value.errors)
    assert not ChoiceBatch.objects.exists()


def test_it_refuses_what_is_not_what_was_shown(ground):
    preview = ground.look()
    ground.choose("hand-pull", ground.pulled)
    with pytest.raises(PreviewOutOfDate):
        ground.choose(fingerprint=preview.fingerprint)


def test_it_records_each_prescription_and_the_batch(ground):
    batch = ground.choose()
    verbs = list(Change.objects.order_by("id").values_list("verb", flat=True))[-4:]
    assert verbs == ["prescription_add"] * 3 + ["choices_make"]
    told = Change.objects.filter(verb="prescription_add").values_list("after", flat=True)
    assert {after["choice"] for after in told if after} == {str(batch.public_id)}
