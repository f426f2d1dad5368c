"""A person's whole paid day, and how drive is shared over its orders."""

from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orders.commands.hearing import command_hear
from orders.field.models import Command, DayShare, DaySheet, Flag
from orders.field.services.daysheets import LineStated, shares_of
from orders.workorders.models import WorkOrder
from tests import build
from tests.commands.season import DAY, flags

pytestmark = pytest.mark.django_db


def _line(code, minutes, order=None):
    named = str(order.public_id) if order else None
    return {"code": code, "order": named, "minutes": minutes, "origin": "typed", "note": None}


def _sheet(season, *lines, **more):
    return {
        "id": str(uuid4()),
        "crew": str(season.crew.public_id),
        "person": str(season.lead.public_id),
        "work_date": str(DAY),
        "rule": "minutes",
        "lines": list(lines),
        "confirmed_by": "A. Lead",
        **more,
    }


def _shares():
    return [(share.order.number, share.minutes) for share in DayShare.objects.order_by("id")]


def test_it_keeps_the_day_and_shares_drive_by_minutes_worked(season):
    other = build.WorkOrderFactory()
    lines = [_line("work", 200, season.order), _line("work", 100, other), _line("drive", 61), _line("shop", 30)]
    season.applied("day-sheet", _sheet(season, *lines))
    sheet = DaySheet.objects.get()
    assert (sheet.revision, sheet.minutes, sheet.confirmed_by) == (1, 391, "A. Lead")
    assert _shares() == [(season.order.number, 41), (other.number, 20)]


def test_it_gives_what_does_not_go_even_to_the_lower_number(season):
    first, second, third = (build.WorkOrderFactory() for _ in range(3))
    worked = [LineStated("work", 10, "typed", order) for order in (third, first, second)]
    shared = shares_of([*worked, LineStated("rain", 50, "typed")], "equal")
    assert shared == [[], [], [], [(first, 17), (second, 17), (third, 16)]]


def test_it_shares_nothing_on_a_day_without_work_or_of_a_drive_to_one_order(season):
    season.applied("day-sheet", _sheet(season, _line("drive", 60), _line("leave", 420)))
    assert _shares() == []
    order = build.WorkOrderFactory()
    assert shares_of([LineStated("drive", 30, "typed", order), LineStated("work", 9, "typed", order)], "minutes") == [
        [],
        [],
    ]


def test_it_holds_work_on_no_order(season):
    answer = season.send("day-sheet", _sheet(season, _line("work", 60)))
    assert [(error["row"], error["field"]) for error in answer["errors"]] == [(1, "lines.order")]


def test_it_holds_a_second_sheet_and_takes_it_with_a_reason(season):
    season.applied("day-sheet", _sheet(season, _line("shop", 480)))
    assert season.send("day-sheet", _sheet(season, _line("shop", 450)))["code"] == "wrong_state"
    season.applied("day-sheet", _sheet(season, _line("shop", 450), reason="Left early"))
    assert list(DaySheet.objects.order_by("revision").values_list("revision", "minutes", "reason")) == [
        (1, 480, ""),
        (2, 450, "Left early"),
    ]
    assert DaySheet.objects.get(revision=2, amends__revision=1)


def test_it_takes_a_second_sheet_that_the_desk_decided_for(season):
    season.applied("day-sheet", _sheet(season, _line("shop", 480)))
    season.send("day-sheet", _sheet(season, _line("shop", 450)))
    command_hear(Command.objects.get(state="held"), decided_by=build.UserFactory(roles=["coordinator"]))
    assert DaySheet.objects.get(revision=2).reason == "Settled at the desk."


@given(
    st.lists(st.integers(1, 600), min_size=1, max_size=6), st.integers(1, 600), st.sampled_from(["minutes", "equal"])
)
def test_it_shares_every_minute(worked, drive, rule):
    orders = [WorkOrder(number=number, public_id=uuid4(), pk=number) for number in range(len(worked))]
    lines = [LineStated("work", minutes, "typed", order) for minutes, order in zip(worked, orders, strict=True)]
    shares = shares_of([*lines, LineStated("drive", drive, "typed")], rule)[-1]
    assert sum(minutes for _, minutes in shares) == drive
    assert all(minutes > 0 for _, minutes in shares)


def test_it_flags_a_day_of_more_than_24_hours(season):
    season.applied("day-sheet", _sheet(season, _line("shop", 1440)))
    assert flags() == []
    season.applied("day-sheet", _sheet(season, _line("shop", 1440), _line("drive", 1), reason="More"))
    assert flags() == [("over_24_hours", "settle")]


def test_it_says_where_sheet_and_close_out_differ(season):
    season.applied("close-order", season.statement(), order=True)
    Flag.objects.all().delete()
    season.applied("day-sheet", _sheet(season, _line("work", 300, season.order), _line("drive", 20)))
    assert flags() == []
    longer = _sheet(season, _line("work", 330, season.order), reason="Corrected")
    season.applied("day-sheet", longer)
    assert flags() == [("time_differs", "note")]
    assert Flag.objects.get().data == {"sheet": 330, "close_out": 320}
