"""Mixes, their uses, and the end of the day."""

import pytest

from orders.supplies.models import StockMovement
from orders.supplies.selectors import lot_amount
from orders.workorders.models import Application, MixBatch, MixDayEnd
from orders.workorders.selectors import order_visits
from tests import build
from tests.commands.season import DAY, flags, season_build
from tests.workorders.orders import herbicide

pytestmark = pytest.mark.django_db


@pytest.fixture
def licensed(season):
    """Everybody holds the license and is checked in."""
    for person in season.people[1:]:
        build.QualificationFactory(person=person, kind__code="certified-applicator", jurisdiction=None)
    season.applied("check-in", season.check_in())
    return season


def test_it_keeps_a_mix_with_what_went_in(licensed):
    body = licensed.batch()
    licensed.applied("mix-batch", body)
    kept = MixBatch.objects.get()
    part = kept.parts.get()
    assert (kept.volume_ul, kept.container, kept.mixed_by) == (10_000_000, "Backpack 1", licensed.lead)
    assert (part.lot, part.amount, str(part.entered_value), part.entered_unit) == (
        licensed.lot,
        200_000,
        "200.0000",
        "mL",
    )
    assert flags() == []


def test_it_takes_a_lot_that_the_program_does_not_know_as_text(licensed):
    part = {"product": licensed.product.code, "lot_text": "smudged 7B", "value": "0.5", "unit": "qt"}
    licensed.applied("mix-batch", licensed.batch(parts=[part]))
    kept = MixBatch.objects.get().parts.get()
    assert (kept.lot, kept.lot_text, kept.amount) == (None, "smudged 7B", 473_176)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"unit": "lb"}, "parts.unit"),
        ({"value": "0"}, "parts.value"),
        ({"product": "nothing"}, "parts.product"),
    ],
)
def test_it_holds_a_part_that_cannot_be_read(licensed, changed, field):
    body = licensed.batch()
    body["parts"][0] |= changed
    answer = licensed.send("mix-batch", body)
    assert answer["state"] == "held"
    assert [(error["row"], error["field"]) for error in answer["errors"]] == [(1, field)]
    assert not MixBatch.objects.exists()


def test_it_holds_a_lot_of_another_product(licensed):
    other = build.StockLotFactory(product=build.ProductFactory(code="other"))
    body = licensed.batch()
    body["parts"][0]["lot"] = str(other.public_id)
    assert [error["field"] for error in licensed.send("mix-batch", body)["errors"]] == ["parts.lot"]


def test_it_keeps_a_use_with_who_held_the_sprayer(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch), order=True)
    kept = Application.objects.get()
    assert (kept.order, kept.volume_ul, kept.responsible) == (licensed.order, 8_000_000, licensed.lead)
    assert [row.person for row in kept.people.order_by("id")] == licensed.people[:2]
    assert kept.at.isoformat() == "2027-02-10T15:30:00+00:00"
    assert flags() == []


def test_it_accounts_for_a_day_and_says_nothing_where_it_adds_up(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch), order=True)
    licensed.applied("mix-day-end", licensed.day_end(batch))
    assert MixDayEnd.objects.count() == 1
    assert flags() == []


def test_it_flags_a_day_that_does_not_add_up(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch, volume_ul=7_000_000), order=True)
    answer = licensed.applied("mix-day-end", licensed.day_end(batch))
    assert flags() == [("mix_balance", "note")]
    assert answer["flags"][0].endswith("1.00 L not accounted for")


def test_it_flags_a_use_that_comes_after_the_day_was_ended(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("mix-day-end", licensed.day_end(batch, disposed_ul=10_000_000))
    licensed.applied("application", licensed.application(batch), order=True)
    assert flags() == [("mix_balance", "note")]


def test_it_takes_what_was_thrown_away_from_stock_once(licensed):
    batch = licensed.batch()
    body = licensed.day_end(batch)
    licensed.applied("mix-batch", batch)
    licensed.applied("mix-day-end", body)
    licensed.applied("mix-day-end", body)
    moved = StockMovement.objects.get(kind="write_off")
    assert (moved.lot, moved.amount, moved.on, moved.source_kind) == (licensed.lot, -40_000, DAY, "mix_day_end")


def test_it_brings_back_what_a_corrected_end_had_thrown_away(licensed):
    batch = licensed.batch()
    first = licensed.day_end(batch)
    licensed.applied("mix-batch", batch)
    licensed.applied("mix-day-end", first)
    licensed.applied("mix-day-end", licensed.day_end(batch, disposed_ul=1_000_000, replaces=first["id"]))
    moved = StockMovement.objects.exclude(kind="receipt").order_by("id").values_list("kind", "amount")
    assert list(moved) == [("write_off", -40_000), ("return", 40_000), ("write_off", -20_000)]


def test_it_takes_what_was_mixed_from_stock_once(licensed):
    """What was applied leaves with the close-out, what was thrown away with the end of the day."""
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch), order=True)
    licensed.applied("mix-day-end", licensed.day_end(batch))
    visit = str(order_visits(licensed.order).get().public_id)
    used = {"visit": visit, "lot": str(licensed.lot.public_id), "value": "160", "unit": "mL"}
    licensed.applied("close-order", licensed.statement(materials=[used]), order=True)
    assert lot_amount(licensed.lot) == 10_000_000 - 200_000


def test_it_begins_the_next_day_with_what_was_carried_over(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch), order=True)
    licensed.applied("mix-day-end", licensed.day_end(batch, carried_over_ul=2_000_000, disposed_ul=0))
    tomorrow = {"work_date": "2027-02-11"}
    times = {"started_at": "2027-02-11T09:00:00-05:00", "ended_at": "2027-02-11T09:30:00-05:00"}
    licensed.applied("check-in", {**licensed.check_in()}, happened_at="2027-02-11T08:00:00-05:00")
    licensed.applied("application", licensed.application(batch, volume_ul=2_000_000, **tomorrow, **times), order=True)
    licensed.applied("mix-day-end", licensed.day_end(batch, disposed_ul=0, **tomorrow))
    assert flags() == []


def test_it_flags_people_whom_nothing_lets_mix_or_apply(season):
    season.applied("check-in", season.check_in())
    batch = season.batch(mixed_by=str(season.people[1].public_id))
    season.applied("mix-batch", batch)
    season.applied("application", season.application(batch), order=True)
    assert flags() == [("unlicensed_use", "urgent")] * 2


def test_it_flags_somebody_who_is_too_young(licensed):
    young = licensed.people[1]
    young.born_on = DAY.replace(year=DAY.year - 17)
    young.save()
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch), order=True)
    assert sorted(flags()) == [("under_age", "urgent"), ("unlicensed_use", "urgent")]


def test_it_flags_somebody_alone_unless_the_program_allows_it(season):
    season.applied("check-in", season.check_in(season.lead))
    batch = season.batch()
    season.applied("mix-batch", batch)
    alone = {"people": [str(season.lead.public_id)]}
    season.applied("application", season.application(batch, **alone), order=True)
    assert flags() == [("lone_herbicide_work", "settle")]


def test_it_says_nothing_of_one_sprayer_with_others_near(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    alone = {"people": [str(licensed.lead.public_id)]}
    licensed.applied("application", licensed.application(batch, **alone), order=True)
    assert flags() == []


def test_it_notes_stems_that_were_treated_late(licensed):
    batch = licensed.batch()
    licensed.applied("mix-batch", batch)
    licensed.applied("application", licensed.application(batch, minutes_from_cut=15), order=True)
    assert flags() == []
    licensed.applied("application", licensed.application(batch, minutes_from_cut=16), order=True)
    assert flags() == [("late_after_cut", "note")]


def test_it_flags_a_mix_that_is_stronger_than_the_label_allows(sender, contact):
    strict = herbicide(uses=[])
    build.LabelUseFactory(product=strict, method="spot-foliar", max_percent_vv=1.5)
    season = season_build(sender, contact, product=strict)
    for person in season.people[1:]:
        build.QualificationFactory(person=person, kind__code="certified-applicator", jurisdiction=None)
    batch = season.batch()
    season.applied("mix-batch", batch)
    answer = season.applied("application", season.application(batch), order=True)
    assert flags() == [("label_deviation", "urgent")]
    assert "2.00% of the mix; at most 1.5%" in answer["flags"][0]
