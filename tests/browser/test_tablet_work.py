"""The screens of a day's work, in a real browser: each stands, is accessible, and queues exactly what it says."""

import os
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.tablet import ACROSS, UPRIGHT

pytestmark = pytest.mark.browser
# Whether the last tap stands in the store.
COUNTED = """async (name) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const kept = await (await import(root + "core/work.js")).read(name);
  return Object.values(kept.progress).some((row) => row.stems_cut === 11);
}"""


def screens(world):
    herbicide, pulling = world.herbicide.public_id, world.pulling.public_id
    site = world.site.public_id
    return {
        "brief": f"/order/{herbicide}",
        "map": f"/order/{herbicide}/map",
        "label": f"/order/{herbicide}/label",
        "emergency": f"/order/{pulling}/emergency",
        "check-in": "/check-in",
        "briefing": f"/briefing/{site}",
        "work": f"/order/{herbicide}/work",
        "work-pulling": f"/order/{pulling}/work",
        "time": "/time",
        "incident": f"/incident/spill/{herbicide}",
        "detection": f"/detection/{site}",
        "today": "/",
    }


def timed(tablet, world):
    """One of the crew has stopped, another is still at work."""
    day, shared = world.day.isoformat(), {"crew": str(world.crew.public_id), "order": str(world.pulling.public_id)}
    people = [str(world.lead.public_id), str(world.technician.public_id)]
    starts = [{"person": person, **shared} for person in people]
    tablet.call("parts/timers_kept.js", "timersStart", day, starts)
    tablet.call("parts/timers_kept.js", "timersStop", day, people[:1])


@pytest.mark.parametrize("language", ["en", "es"])
def test_it_has_screens_that_everybody_can_use(tablet, world, language):
    tablet.wait_for_orders(2)
    tablet.call("core/session.js", "languageKeep", language)
    timed(tablet, world)
    folder = os.environ.get("FENCEROW_PICTURES")
    found: dict[str, str] = {}
    for name, path in screens(world).items():
        for size in (UPRIGHT, ACROSS):
            tablet.page.set_viewport_size(size)
            tablet.show(path)
            if folder:
                made = Path(folder) / f"{name}-{language}-{size['width']}.png"
                tablet.page.screenshot(path=made, full_page=True)
            results = Axe().run(tablet.page)
            found |= {f"{name} {v['id']}": v["nodes"][0]["html"] for v in results.response["violations"]}
    assert found == {}


def rows_of(tablet, kind):
    return [row for row in tablet.rows("outbox") if row["kind"] == kind]


def ids(*rows):
    return {str(row.public_id) for row in rows}


@pytest.fixture
def outside(tablet, world):
    """The tablet with its orders, and no signal: what is entered stays in the outbox."""
    tablet.wait_for_orders(2)
    tablet.call("core/sync.js", "syncNow")
    tablet.offline()
    return tablet


def opened(tablet, path, title):
    tablet.go(path)
    tablet.page.get_by_role("heading", level=1, name=title).wait_for()
    return tablet.page


def test_it_checks_a_crew_in_says_longer_and_checks_it_out(outside, world):
    page = opened(outside, "/check-in", "Check in or out")
    page.get_by_label("Phone in the field").fill("555-0177")
    page.get_by_role("button", name="Check in").click()
    page.get_by_text("Checked in at Tallow Fork").wait_for()
    (came,) = rows_of(outside, "check-in")
    body = came["body"]
    assert set(body) == {"id", "crew", "site", "people", "back_by", "phone", "note"}
    assert set(body["people"]) == ids(world.lead, world.technician, world.minor)
    assert (body["site"], body["crew"]) == (str(world.site.public_id), str(world.crew.public_id))
    opened(outside, "/check-in", "Check in or out")
    page.get_by_role("button", name="More: Back by").click()
    page.get_by_role("button", name="Tell the office the new hour").click()
    page.get_by_role("button", name="Check out: all are back").click()
    page.get_by_text("Your crew is not checked in").wait_for()
    (longer,), (out,) = rows_of(outside, "check-in-longer"), rows_of(outside, "check-out")
    assert longer["body"]["check_in"] == out["body"]["check_in"] == body["id"]
    assert longer["body"]["back_by"] > body["back_by"]


def test_it_starts_breaks_and_stops_and_a_reload_loses_nothing(outside, world):
    page = opened(outside, f"/order/{world.pulling.public_id}/work", "Tallow Fork")
    page.get_by_text("No tailgate briefing today").wait_for()
    page.get_by_role("button", name="Start work for 3 people").click()
    page.get_by_role("button", name="Break for all").wait_for()
    page.reload()
    outside.ready()
    page.get_by_role("button", name="Break for all").click()
    page.get_by_role("button", name="All go on").click()
    page.get_by_role("button", name="Stop all").click()
    page.get_by_role("link", name="Close order").wait_for()
    (start,) = rows_of(outside, "start-order")
    assert (start["order"], start["body"]) == (str(world.pulling.public_id), {})
    spans = rows_of(outside, "time-span")
    assert {span["body"]["person"] for span in spans} == ids(world.lead, world.technician, world.minor)
    body = spans[0]["body"]
    given = {"id", "crew", "person", "work_date", "code", "visit", "started_at", "ended_at", "minutes", "origin"}
    assert set(body) == given
    assert (body["minutes"], body["origin"], body["work_date"]) == (1, "timer", world.day.isoformat())
    assert spans[0]["order"] == str(world.pulling.public_id)


def test_it_lets_nobody_under_age_or_alone_begin_with_herbicide(outside, world):
    page = opened(outside, f"/order/{world.herbicide.public_id}/work", "Tallow Fork")
    page.get_by_text("Not of age: never saws, never herbicide").wait_for()
    assert page.get_by_label("Rye Colby starts next").count() == 0
    page.get_by_label("Amos Tull starts next").uncheck()
    start = page.get_by_role("button", name="Start work for 1 person")
    assert start.is_disabled()
    page.get_by_label("Amos Tull starts next").check()
    page.get_by_role("button", name="Start work for 2 people").click()
    page.get_by_role("button", name="Stop all").wait_for()
    assert set(outside.call("core/work.js", "read", f"timers/{world.day.isoformat()}")["spans"][0]) >= {"prescription"}


def test_it_says_when_one_is_left_alone_with_herbicide(outside, world):
    page = opened(outside, f"/order/{world.herbicide.public_id}/work", "Tallow Fork")
    page.get_by_role("button", name="Start work for 2 people").click()
    page.get_by_role("button", name="Stop all").wait_for()
    assert page.get_by_text("Only one person is still at work here").count() == 0
    page.get_by_role("button", name="Stop the timer of Amos Tull").click()
    page.get_by_text("Only one person is still at work here").wait_for()


def test_it_stops_nobody_who_is_at_work_on_another_order(outside, world):
    page = opened(outside, f"/order/{world.pulling.public_id}/work", "Tallow Fork")
    page.get_by_role("button", name="Start work for 3 people").click()
    page.get_by_role("button", name="Stop all").wait_for()
    page = opened(outside, f"/order/{world.herbicide.public_id}/work", "Tallow Fork")
    page.get_by_text("At work on another order").first.wait_for()
    assert page.get_by_role("button", name="Stop all").count() == 0


def test_it_says_of_whom_no_day_of_birth_is_on_record(tablets, world):
    world.technician.born_on = None
    world.technician.save()
    tablet = tablets()
    tablet.enroll(world.lead_user)
    tablet.wait_for_orders(2)
    page = opened(tablet, f"/order/{world.herbicide.public_id}/work", "Tallow Fork")
    page.get_by_text("No day of birth on record: Amos Tull.").wait_for()


def test_it_replaces_a_timed_span_with_a_typed_one_that_says_why(outside, world):
    page = opened(outside, f"/order/{world.pulling.public_id}/work", "Tallow Fork")
    page.get_by_role("button", name="Start work for 3 people").click()
    page.get_by_role("button", name="Stop all").click()
    page.get_by_role("link", name="Close order").wait_for()
    opened(outside, "/time", "Time of")
    page.get_by_text("Correct", exact=True).first.click()
    page.get_by_label("Hours").first.fill("3")
    page.get_by_label("Minutes").first.fill("20")
    page.get_by_role("button", name="Save").first.click()
    page.get_by_text("Say why").wait_for()
    page.get_by_label("Why it is changed").first.fill("Started late")
    page.get_by_role("button", name="Save").first.click()
    page.get_by_text("3 h 20 min").first.wait_for()
    first, *_, typed = [row["body"] for row in rows_of(outside, "time-span")]
    assert (typed["minutes"], typed["origin"], typed["why"]) == (200, "typed", "Started late")
    assert typed["replaces"] == first["id"]
    assert typed["person"] == first["person"]


def test_it_adds_drive_by_hand(outside, world):
    page = opened(outside, "/time", "Time of")
    page.get_by_text("Add time by hand").click()
    page.get_by_label("Minutes").fill("35")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("0 h 35 min").first.wait_for()
    (row,) = rows_of(outside, "time-span")
    assert (row["order"], row["body"]["code"], row["body"]["minutes"]) == (None, "drive", 35)
    assert "visit" not in row["body"]


def test_it_keeps_a_briefing_with_what_the_day_computes_to(outside, world):
    page = opened(outside, f"/briefing/{world.site.public_id}", "Tailgate briefing")
    page.get_by_label("Air temperature").fill("95")
    page.get_by_label("Relative humidity").fill("50")
    page.get_by_label("Wind", exact=True).fill("5")
    page.get_by_text("high heat hazard").wait_for()
    page.get_by_text("At least 15 minutes of rest every two hours").wait_for()
    page.get_by_role("button", name="All were talked over as written").click()
    page.get_by_text("All talked over").wait_for()
    assert page.get_by_label("Air temperature").input_value() == "95"
    page.get_by_role("button", name="Save the briefing").click()
    page.get_by_text("Your crew is not checked in").wait_for()
    (row,) = rows_of(outside, "briefing")
    body = row["body"]
    assert body["conditions"]["air_temperature_c"] == pytest.approx(35)
    assert body["computed"]["heat_band"] == "high"
    assert body["computed"]["work_minutes_per_hour"] == 60
    assert set(body["orders"]) == ids(world.pulling, world.herbicide)
    assert {"heat", "ticks", "herbicide", "spray-weather"} <= {hazard["code"] for hazard in body["hazards"]}
    assert body["led_by"] == str(world.lead.public_id)


def test_it_reports_a_spill(outside, world):
    page = opened(outside, f"/incident/spill/{world.herbicide.public_id}", "Report to the office")
    page.get_by_role("button", name="Save and report").click()
    page.get_by_text("Say what happened").wait_for()
    page.get_by_label("What happened").last.fill("A jug tipped over")
    page.get_by_label("Amos Tull").check()
    page.get_by_role("button", name="Save and report").click()
    page.get_by_role("heading", name="Report saved").wait_for()
    (row,) = rows_of(outside, "incident")
    body = row["body"]
    assert (body["kind"], body["work_stopped"], body["people"]) == ("spill", True, ["Amos Tull"])
    assert (body["reported_by"], row["order"]) == ("Lena Ward", str(world.herbicide.public_id))


def test_it_puts_a_sign_up_and_down(outside, world):
    page = opened(outside, f"/order/{world.herbicide.public_id}/work", "Tallow Fork")
    page.get_by_role("button", name="A sign is up").click()
    page.get_by_role("button", name="Taken down: Trailhead").click()
    page.get_by_text("down since").wait_for()
    up, down = rows_of(outside, "sign")
    assert (up["body"]["state"], down["body"]["state"]) == ("up", "down")
    assert up["body"]["sign"] == down["body"]["sign"]
    assert up["body"]["place"] == "Trailhead"


def test_it_says_that_a_day_was_not_done(outside, world):
    page = opened(outside, f"/order/{world.pulling.public_id}/work", "Tallow Fork")
    page.get_by_text("Not done today", exact=True).click()
    page.get_by_label("Locked gate or no way in").check()
    page.get_by_role("button", name="Tell the office").click()
    page.get_by_role("dialog").get_by_role("button", name="Tell the office").click()
    expect(page.get_by_text("Not done today", exact=True)).to_have_count(0)
    (row,) = rows_of(outside, "visit-not-done")
    assert row["body"]["reason"] == "Locked gate or no way in"
    assert row["order"] == str(world.pulling.public_id)


def test_it_remembers_how_far_a_patch_is(outside, world):
    path = f"/order/{world.herbicide.public_id}/work"
    page = opened(outside, path, "Tallow Fork")
    for _ in range(3):
        page.get_by_role("button", name="More: Done").first.click()
    page.get_by_role("button", name="+10").first.click()
    page.get_by_role("button", name="More: Stems cut").first.click()
    outside.until(COUNTED, f"order/{world.herbicide.public_id}")
    page.reload()
    outside.ready()
    page.get_by_text("15%").first.wait_for()
    kept = outside.call("core/work.js", "read", f"order/{world.herbicide.public_id}")["progress"]
    (row,) = kept.values()
    assert row == {"percent": 15, "stems_cut": 11}
