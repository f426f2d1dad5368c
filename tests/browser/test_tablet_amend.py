"""Which day a close-out tells of, and stating it anew on a tablet that did not close the order."""

from datetime import timedelta

import pytest

from orders.planning.models import Visit
from orders.workorders.models import TimeEntry
from tests.browser.tablet_closing import Hand

pytestmark = pytest.mark.browser


def _hand(tablets, world):
    tablet = tablets()
    tablet.enroll(world.lead_user)
    tablet.wait_for_orders(2)
    return Hand(tablet)


def _close(hand, order):
    hand.tablet.go(f"/order/{order.public_id}/close")
    hand.tap("All patches 100%")
    hand.tap("Close the order")
    hand.page.get_by_text("Closed by Lena Ward. Saved on this tablet.").wait_for()


def _sent(hand):
    hand.tablet.sent()
    assert [row["answer"] for row in hand.tablet.rows("answers")] == []


@pytest.fixture
def early(tablets, world):
    """Pulling is planned for tomorrow."""
    Visit.objects.filter(order_visit__order=world.pulling).update(day=world.day + timedelta(days=1))
    return _hand(tablets, world)


def test_it_tells_the_day_of_work_that_was_timed_before_its_day(early, world):
    early.tablet.go(f"/order/{world.pulling.public_id}/work")
    early.tap("Start work for 3 people")
    early.tap("Stop all")
    _close(early, world.pulling)
    _sent(early)
    entries = TimeEntry.objects.filter(close_out__order=world.pulling)
    assert {(entry.origin, entry.work_date) for entry in entries} == {
        ("timer", world.day),
        ("allocated", world.day),
    }


def test_it_takes_an_order_that_is_closed_early_as_done_today(early, world):
    _close(early, world.pulling)
    body = early.body("close-order")
    assert {row["work_date"] for row in body["times"]} == {world.day.isoformat()}
    assert body["work_date"] == world.day.isoformat()


def test_it_amends_what_another_tablet_closed(tablets, world):
    first = _hand(tablets, world)
    first.tablet.go(f"/order/{world.pulling.public_id}/close")
    first.page.get_by_role("group", name="Amos Tull").get_by_role("button", name="more").click()
    first.fill("Notes", "Fence down at the creek")
    _close(first, world.pulling)
    _sent(first)
    stated = first.tablet.call("core/work.js", "read", f"order/{world.pulling.public_id}")["close"]["statement"]
    first.tablet.close()

    second = _hand(tablets, world)
    second.tablet.go(f"/order/{world.pulling.public_id}/amend")
    second.on("Amend order")
    assert second.page.get_by_label("Notes", exact=True).input_value() == "Fence down at the creek"
    second.page.get_by_role("group", name="Rye Colby").get_by_role("button", name="less").click()
    second.fill("Reason of the change", "Rye left early")
    second.tap("Send the amendment")
    second.page.get_by_text("Closed by Lena Ward").wait_for()
    _sent(second)
    world.pulling.refresh_from_db()
    newest = world.pulling.close_outs.get(amended_by__isnull=True)
    assert (newest.revision, newest.reason, newest.notes) == (2, "Rye left early", "Fence down at the creek")
    before = {(row["person"], row["step"]): row["minutes"] for row in stated["times"]}
    after = {(str(row.person.public_id), row.step): row.minutes for row in newest.time_entries.all()}
    assert after == {**before, (str(world.minor.public_id), ""): before[str(world.minor.public_id), ""] - 15}
    origins = {(str(row.person.public_id), row.step): row.origin for row in newest.time_entries.all()}
    assert origins[str(world.lead.public_id), ""] == "prefilled"
    assert origins[str(world.technician.public_id), ""] == "typed"
