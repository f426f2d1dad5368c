"""How many taps a day takes: each tap, and each field that is typed into, counts as one. Nothing is skipped that the
screens ask for, and all of it arrives."""

import pytest

from tests.browser.tablet_closing import Hand

pytestmark = pytest.mark.browser
MOST_FOR_PULLING = 25
MOST_FOR_HERBICIDE = 60


def _open_work(hand, order):
    hand.page.locator(f"[data-order='{order.public_id}']").get_by_role("link", name="Work", exact=True).click()
    hand.taps += 1


def _work(hand, order, count):
    """From today's work: open the order's work and start everybody who may."""
    _open_work(hand, order)
    hand.tap(f"Start work for {count} people")
    hand.page.get_by_role("button", name="Stop all").wait_for()


def _stop_and_close(hand):
    hand.tap("Stop all")
    hand.link("Close order")
    hand.on("Close order")
    hand.tap("All patches 100%")
    hand.tap("Close the order")
    hand.page.get_by_text("Closed by Lena Ward. Saved on this tablet.").wait_for()


def _sent(hand):
    """All of it goes by itself, and none of it is held at the office."""
    hand.tablet.sent()
    assert hand.tablet.rows("outbox") == []
    assert [row["answer"] for row in hand.tablet.rows("answers")] == []


@pytest.fixture
def hand(tablet):
    tablet.wait_for_orders(2)
    return Hand(tablet)


def test_it_closes_a_pulling_order_in_few_taps(hand, world):
    _work(hand, world.pulling, 3)
    _stop_and_close(hand)
    _sent(hand)
    world.pulling.refresh_from_db()
    assert world.pulling.state == "closed"
    print(f"{hand.taps} taps")
    assert hand.taps < MOST_FOR_PULLING


def test_it_closes_a_day_of_two_mixes_with_both_records(hand, world):
    _work(hand, world.herbicide, 2)
    hand.link("Weather check")
    hand.weather("65", "5")
    hand.tap("Save the check")
    _mixed_and_applied(hand, "Cut stem, 25%", "P-03", "5")
    hand.link("New mix")
    _mixed_and_applied(hand, "Foliar, 2%", "P-04", "0.9")
    hand.link("Weather check")
    hand.weather("66", "6", when="At the end")
    hand.tap("Save the check")
    _day_ends(hand, 2)
    _records(hand, 2)
    hand.link("Today")
    _open_work(hand, world.herbicide)
    _stop_and_close(hand)
    _sent(hand)
    world.herbicide.refresh_from_db()
    assert world.herbicide.state == "closed"
    print(f"{hand.taps} taps")
    assert hand.taps < MOST_FOR_HERBICIDE


def _mixed_and_applied(hand, mix, patch, amount):
    hand.mix(mix)
    hand.link("Apply on order")
    hand.apply(patch, amount)
    hand.link("Back")


def _day_ends(hand, count):
    for _ in range(count):
        hand.tap("All disposed of")
        hand.page.get_by_text("The sum comes out.").first.wait_for()
        hand.tap("Save the end of the day")
    hand.page.get_by_text("No mix waits").wait_for()
    hand.link("Application records")


def _records(hand, count):
    for number in range(count):
        hand.on("Application records")
        hand.link("Finish and sign")
        hand.on("Application record")
        if number == 0:
            hand.page.get_by_label("Customer or person requesting").fill("Tallow program, 1 Invented Road")
            hand.taps += 1
        hand.tap("Sign the record")
        hand.page.get_by_text("Signed by Lena Ward, nothing missing.").nth(number).wait_for()
