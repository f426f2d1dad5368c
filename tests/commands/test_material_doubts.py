"""A close-out that leaves out what is on record as used, and sums that come out later."""

from datetime import date
from uuid import uuid4

import pytest

from orders.field.models import Flag
from orders.workorders.models import Application
from orders.workorders.selectors import order_visits
from tests import build
from tests.commands.season import DAY

pytestmark = pytest.mark.django_db


def _material(season, milliliters):
    visit = str(order_visits(season.order).get().public_id)
    row = {"id": str(uuid4()), "visit": visit, "lot": str(season.lot.public_id)}
    return {**row, "value": str(milliliters), "unit": "mL"}


def _flags(kind):
    return list(Flag.objects.filter(kind=kind).order_by("id").values_list("state", flat=True))


@pytest.fixture
def used(season):
    """160 mL went out on the order."""
    batch = season.batch()
    season.applied("mix-batch", batch)
    season.applied("application", season.application(batch), order=True)
    return season


def test_it_says_nothing_where_the_close_out_tells_what_was_used(used):
    used.applied("close-order", used.statement(materials=[_material(used, 158)]), order=True)
    assert _flags("material_differs") == []


def test_it_flags_a_use_that_the_close_out_leaves_out(used):
    used.applied("close-order", used.statement(), order=True)
    flag = Flag.objects.get(kind="material_differs")
    assert (flag.data["stated"], flag.data["on_record"]) == (0, 160_000)


def test_it_flags_a_use_that_comes_after_the_close_out(season):
    season.applied("close-order", season.statement(), order=True)
    batch = season.batch()
    season.applied("mix-batch", batch)
    season.applied("application", season.application(batch), order=True)
    assert _flags("material_differs") == ["open"]


def test_it_ends_a_flag_once_the_sum_comes_out(season):
    """The day's end is heard of before the use."""
    batch = season.batch()
    season.applied("mix-batch", batch)
    season.applied("mix-day-end", season.day_end(batch))
    assert _flags("mix_balance") == ["open"]
    season.applied("application", season.application(batch), order=True)
    assert _flags("mix_balance") == ["settled"]


def test_it_ends_a_flag_once_the_record_is_complete(used):
    build.RecordProfileFactory(jurisdiction=used.site.jurisdiction.code, first_day=date(2020, 1, 1), required=["date"])
    used.applied("close-order", used.statement(materials=[_material(used, 160)]), order=True)
    assert _flags("record_incomplete") == ["open"]
    use = Application.objects.get()
    body = {"batch": str(use.batch.public_id), "site": str(used.site.public_id), "work_date": str(DAY)}
    body |= {"responsible": str(used.lead.public_id), "signed_by": "A. Lead"}
    used.applied("application-record", {**body, "id": str(uuid4()), "values": {}})
    assert _flags("record_incomplete") == ["open"]
    values = {"date": str(DAY)}
    used.applied("application-record", {**body, "id": str(uuid4()), "values": values, "reason": "The day"})
    assert _flags("record_incomplete") == ["settled"]
