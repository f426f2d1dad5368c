"""Mixing, spraying, records, closing and the day sheet: each screen stands, and queues exactly what it says."""

import os
from pathlib import Path

import pytest
from django.conf import settings

from tests.browser.tablet_checks import faults
from tests.browser.tablet_closing import Hand

pytestmark = pytest.mark.browser
STRONG_WIND_MPH = "20"
BREEZE_MPH = "5"
SOME_WIND_MPH = "12"  # above the label's advice, below its mandatory limit
# Whether what was typed and tapped last stands in the store.
DRAFTED = """async (name) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const draft = await (await import(root + "core/work.js")).read(name);
  return draft?.notes && draft.outcomes.every((row) => row.percent_complete === 100);
}"""


@pytest.fixture
def hand(tablet):
    """One who works without a signal."""
    tablet.wait_for_orders(2)
    tablet.offline()
    return Hand(tablet)


def _screens(world, batch):
    herbicide, pulling = world.herbicide.public_id, world.pulling.public_id
    return {
        "mixes": "/mixes",
        "mix": f"/mix/{herbicide}",
        "batch": f"/batch/{batch}",
        "weather": f"/weather/{herbicide}",
        "apply": f"/apply/{herbicide}",
        "day-end": "/day-end",
        "records": "/records",
        "close-herbicide": f"/order/{herbicide}/close",
        "close-pulling": f"/order/{pulling}/close",
        "amend": f"/order/{pulling}/amend",
        "day": "/day",
    }


@pytest.mark.parametrize("language", ["en", "es"])
def test_it_has_screens_that_everybody_can_use(hand, world, language):
    tablet, order = hand.tablet, world.herbicide.public_id
    tablet.go(f"/mix/{order}")
    hand.mix("Cut stem, 25%")
    tablet.go(f"/apply/{order}")
    hand.apply("P-03", "5")
    screens = _screens(world, hand.body("mix-batch")["id"])
    tablet.go("/records")
    hand.link("Finish and sign")
    hand.on("Application record")
    screens["record"] = hand.page.evaluate("location.hash.slice(1)")
    tablet.call("core/session.js", "languageKeep", language)
    found = {}
    for name, path in screens.items():
        tablet.go("/unsent")
        tablet.show(path)
        if folder := os.environ.get("FENCEROW_PICTURES"):
            _picture(hand.page, Path(folder) / f"{name}-{language}")
        found[name] = faults(hand.page)
    assert {name: wrong for name, wrong in found.items() if wrong} == {}


def _picture(page, place):
    for width, height in ((768, 1024), (1024, 768)):
        page.set_viewport_size({"width": width, "height": height})
        page.screenshot(path=f"{place}-{width}.png", full_page=True)


def test_it_closes_from_the_estimate_and_says_so(hand, world):
    order = str(world.pulling.public_id)
    hand.tablet.go(f"/order/{order}/close")
    assert hand.page.get_by_text("from the estimate", exact=True).count() == 3
    assert hand.page.get_by_role("button", name="Close the order").is_disabled()
    hand.tap("All patches 100%")
    hand.page.get_by_role("group", name="Amos Tull").get_by_role("button", name="more").click()
    hand.tap("Close the order")
    hand.page.get_by_text("Closed by Lena Ward. Saved on this tablet.").wait_for()
    [command] = hand.queued("close-order")
    body = command["body"]
    assert command["order"] == order
    assert body["confirmed_by"] == "Lena Ward"
    assert body["work_date"] == world.day.isoformat()
    asked = {str(share.prescription.public_id) for share in _shares(world.pulling)}
    assert {row["prescription"]: row["percent_complete"] for row in body["outcomes"]} == dict.fromkeys(asked, 100)
    origins = {(row["person"], row["step"]): row["origin"] for row in body["times"]}
    lead, technician, minor = (str(one.public_id) for one in (world.lead, world.technician, world.minor))
    assert origins == {
        (lead, ""): "prefilled",
        (technician, ""): "typed",
        (minor, ""): "prefilled",
        **dict.fromkeys([(lead, "drive"), (technician, "drive"), (minor, "drive")], "allocated"),
    }
    drive = {row["minutes"] for row in body["times"] if row["step"] == "drive"}
    assert drive == {2 * world.site.drive_minutes}


def _shares(order):
    return [share for row in order.order_visits.all() for share in row.visit.shares.all()]


def test_it_takes_hours_from_timers_and_splits_them_only_when_told(hand, world):
    order, patch = str(world.pulling.public_id), str(_shares(world.pulling)[0].prescription.public_id)
    visit = str(world.pulling.order_visits.get().visit.public_id)
    span = {"order": order, "visit": visit, "prescription": None, "code": "work", "origin": "timer", "queued": True}
    spans = [
        {**span, "id": "1", "person": str(world.lead.public_id), "minutes": 200},
        {**span, "id": "2", "person": str(world.technician.public_id), "minutes": 150, "prescription": patch},
    ]
    hand.tablet.call("core/store.js", "put", "work", {"spans": spans}, f"timers/{world.day.isoformat()}")
    hand.tablet.go(f"/order/{order}/close")
    assert hand.page.get_by_text("from the timer", exact=True).count() == 2
    hand.tap("All patches 100%")
    hand.page.get_by_text("How much of it was one step?").click()
    hand.page.locator("details .chips input").nth(1).check()
    hand.tap("Close the order")
    hand.page.get_by_text("Closed by Lena Ward").wait_for()
    on_site = [row for row in hand.body("close-order")["times"] if row["origin"] != "allocated"]
    assert {row["origin"] for row in on_site} == {"timer"}
    by_person: dict[str, int] = {}
    for row in on_site:
        by_person[row["person"]] = by_person.get(row["person"], 0) + row["minutes"]
    assert by_person == {str(world.lead.public_id): 200, str(world.technician.public_id): 150}
    assert {row["prescription"] for row in on_site} == {None, patch}
    assert len({row["step"] for row in on_site}) == 2


def test_it_amends_with_a_reason(hand, world):
    order = world.pulling.public_id
    hand.tablet.go(f"/order/{order}/close")
    hand.tap("All patches 100%")
    hand.tap("Close the order")
    hand.link("Amend it")
    hand.on("Amend order")
    assert hand.page.get_by_role("button", name="Send the amendment").is_disabled()
    hand.page.get_by_role("group", name="Rye Colby").get_by_role("button", name="less").click()
    hand.fill("Reason of the change", "Rye left early")
    hand.tap("Send the amendment")
    hand.page.get_by_text("Closed by Lena Ward").wait_for()
    body = hand.body("amend-order")
    assert body["reason"] == "Rye left early"
    minor = [row for row in body["times"] if row["person"] == str(world.minor.public_id) and row["step"] == ""]
    assert [row["origin"] for row in minor] == ["typed"]


def test_it_lets_nobody_pass_a_mandatory_limit(hand, world):
    order = world.herbicide.public_id
    hand.tablet.go(f"/weather/{order}")
    hand.weather("65", STRONG_WIND_MPH)
    hand.page.get_by_text("nobody may override it").wait_for()
    assert not hand.page.get_by_role("heading", name="Let it pass").is_visible()
    hand.tap("Save the check")
    hand.on("Mixes")
    check = hand.body("weather-check")
    assert "passed_by" not in check
    assert check["wind_m_s"] == pytest.approx(20 * 0.44704)
    assert check["wind_from_deg"] == 225
    hand.tablet.go(f"/mix/{order}")
    hand.mix("Foliar, 2%")
    hand.tablet.go(f"/apply/{order}")
    hand.choose("P-04")
    hand.tap("Started at: now")
    hand.tap("Ended at: now")
    hand.fill("Volume of mix used", "1")
    save = hand.page.get_by_role("button", name="Save this application")
    assert save.is_disabled()
    hand.tap("It was done all the same")
    assert save.is_enabled()


def test_it_lets_advice_pass_by_name_and_reason(hand, world):
    hand.tablet.go(f"/weather/{world.herbicide.public_id}")
    hand.weather("65", SOME_WIND_MPH)
    hand.page.get_by_text("Advised against").wait_for()
    hand.fill("Why it may go on", "Shielded spot work, wind away from the creek")
    hand.tap("Save the check")
    hand.on("New mix")
    check = hand.body("weather-check")
    assert (check["passed_by"], check["passed_reason"][:8]) == ("Lena Ward", "Shielded")


def test_it_asks_who_lets_advice_pass_before_a_use_is_saved(hand, world):
    order = world.herbicide.public_id
    hand.tablet.go(f"/weather/{order}")
    hand.weather("65", SOME_WIND_MPH)
    hand.tap("Save the check")
    hand.mix("Foliar, 2%")
    hand.tablet.go(f"/apply/{order}")
    _applied(hand, "P-04", "0.5")
    hand.page.get_by_text("Say in the weather check who lets the advice pass").wait_for()
    save = hand.page.get_by_role("button", name="Save this application")
    assert save.is_disabled()
    hand.tablet.go(f"/weather/{order}")
    hand.weather("65", SOME_WIND_MPH)
    hand.fill("Why it may go on", "Shielded spot work, wind away from the creek")
    hand.tap("Save the check")
    hand.on("Apply on order")
    assert hand.page.get_by_role("button", name="Save this application").is_enabled()


def _applied(hand, patch, amount):
    hand.choose(patch)
    hand.tap("Started at: now")
    hand.tap("Ended at: now")
    hand.fill("Volume of mix used", amount)


def test_it_takes_no_check_of_another_order_for_this_one(hand, world):
    order = world.herbicide.public_id
    hand.tablet.go(f"/mix/{order}")
    hand.mix("Foliar, 2%")
    site, at = str(world.site.public_id), "2020-01-01T00:00:00.000Z"
    other = {"site": site, "order": str(world.pulling.public_id), "verdict": "go", "purpose": "start", "at": at}
    hand.tablet.call("core/store.js", "put", "work", [other], f"weather/{world.day.isoformat()}")
    hand.tablet.go(f"/apply/{order}")
    hand.page.get_by_text("Weather was not checked today").wait_for()


def test_it_lets_nobody_mix_stronger_than_the_label(hand, world):
    hand.tablet.go(f"/mix/{world.herbicide.public_id}")
    hand.on("New mix")
    hand.choose("Cut stem, 25%")
    hand.tick("Everybody who mixes wears what the label asks for")
    save = hand.page.get_by_role("button", name="Save this mix")
    assert save.is_enabled()
    amount = hand.page.get_by_label("Amount of Invented G-480", exact=True)
    amount.fill(str(float(amount.input_value()) * 3))
    hand.page.get_by_text("the label allows at most 50% by volume").wait_for()
    assert save.is_disabled()
    hand.tap("It was mixed so already")
    assert save.is_enabled()


def test_it_tells_a_use_that_is_over_the_labels_rate(hand, world):
    order = world.herbicide.public_id
    hand.tablet.go(f"/mix/{order}")
    hand.mix("Foliar, 2%")
    hand.tablet.go(f"/apply/{order}")
    _applied(hand, "P-04", "0.5")
    save = hand.page.get_by_role("button", name="Save this application")
    assert save.is_enabled()
    hand.fill("Area treated", "40")
    hand.page.get_by_text("on this area; the label allows at most").wait_for()
    assert save.is_disabled()
    hand.tap("It was done all the same")
    assert save.is_enabled()


def test_it_mixes_nothing_alone(hand, world):
    hand.tablet.go("/check-in")
    hand.page.get_by_role("heading", level=1, name="Check in or out").wait_for()
    hand.page.get_by_label("Amos Tull").uncheck()
    hand.page.get_by_label("Rye Colby").uncheck()
    hand.tap("Check in", exact=True)
    hand.page.get_by_text("Checked in at Tallow Fork").wait_for()
    hand.tablet.go(f"/mix/{world.herbicide.public_id}")
    hand.on("New mix")
    hand.tick("Everybody who mixes wears what the label asks for")
    hand.page.get_by_text("Nobody uses herbicide alone").wait_for()
    assert hand.page.get_by_role("button", name="Save this mix").is_disabled()


def test_it_offers_herbicide_work_to_those_who_may(hand, world):
    hand.tablet.go(f"/mix/{world.herbicide.public_id}")
    assert hand.page.get_by_text("May not mix here: Rye Colby (under age).").is_visible()
    assert hand.page.get_by_role("radio", name="Rye Colby").count() == 0
    hand.choose("Amos Tull")
    hand.page.get_by_text("Supervised by").wait_for()
    hand.tick("Everybody who mixes wears")
    hand.tap("Save this mix")
    hand.page.get_by_text("The container must carry").wait_for()
    body = hand.body("mix-batch")
    assert body["mixed_by"] == str(world.technician.public_id)
    assert body["supervised_by"] == str(world.lead.public_id)
    assert body["mix"] == str(world.cut_stem_mix.public_id)
    assert {part["lot"] for part in body["parts"]} <= {str(lot.public_id) for lot in world.lots}
    assert body["container"]
    hand.link("Apply on order")
    hand.on("Apply on order")
    assert hand.page.get_by_text("May not apply here: Rye Colby (under age).").is_visible()


def test_it_follows_a_mix_to_its_record(hand, world):
    order = world.herbicide.public_id
    hand.tablet.go(f"/weather/{order}")
    hand.weather("65", BREEZE_MPH)
    hand.tap("Save the check")
    hand.mix("Foliar, 2%")
    hand.tablet.go(f"/apply/{order}")
    hand.apply("P-04", "0.5")
    application = hand.body("application")
    assert application["volume_ul"] == round(0.5 * 3_785_411.784)
    assert application["people"] == [str(world.lead.public_id)]
    _day_end(hand, application["batch"])
    _record(hand, application)


def test_it_asks_at_the_days_end_for_the_weather_at_the_end(hand, world):
    order = world.herbicide.public_id
    hand.tablet.go(f"/weather/{order}")
    hand.weather("65", BREEZE_MPH)
    hand.tap("Save the check")
    hand.mix("Foliar, 2%")
    hand.tablet.go(f"/apply/{order}")
    hand.apply("P-04", "0.5")
    hand.tablet.go("/day-end")
    hand.page.get_by_text("the weather at the end of the use was not measured").wait_for()
    hand.link("Weather check")
    hand.weather("66", BREEZE_MPH, when="At the end")
    hand.tap("Save the check")
    hand.page.get_by_text("is not accounted for").wait_for()
    assert hand.page.get_by_text("the weather at the end of the use was not measured").count() == 0


def _day_end(hand, batch):
    hand.tablet.go("/day-end")
    hand.page.get_by_text("is not accounted for").wait_for()
    hand.tap("All disposed of")
    hand.page.get_by_text("The sum comes out.").wait_for()
    hand.fill("How the leftover went", "On the last labeled patch")
    hand.tap("Save the end of the day")
    hand.page.get_by_text("No mix waits").wait_for()
    body, mixed = hand.body("mix-day-end"), hand.body("mix-batch")
    assert body["batch"] == batch
    assert hand.body("application")["volume_ul"] + body["disposed_ul"] == mixed["volume_ul"]
    assert body["carried_over_ul"] == 0


def _record(hand, application):
    hand.tablet.go("/records")
    hand.link("Finish and sign")
    requester = hand.page.get_by_label("Customer or person requesting")
    assert requester.input_value() == settings.PROGRAM_NAME
    requester.fill("")
    hand.page.get_by_text("Missing: Customer or person requesting").wait_for()
    assert hand.page.get_by_role("button", name="Sign it incomplete").is_visible()
    requester.fill("Tallow program, 1 Invented Road")
    hand.tap("Sign the record")
    hand.page.get_by_text("Signed by Lena Ward, nothing missing.").wait_for()
    body = hand.body("application-record")
    assert body["signed_by"] == "Lena Ward"
    assert {name: body[name] for name in ("batch", "site", "responsible")} == {
        name: application[name] for name in ("batch", "site", "responsible")
    }
    values = body["values"]
    assert values["license_number"] == "KY-000901"
    assert values["wind"] == {"speed_m_s": pytest.approx(5 * 0.44704), "from_deg": 225}
    assert values["area_treated"] == {"value": "1200", "unit": "ft2"}
    assert values["end_time"] == application["ended_at"]
    assert values["rate"]["glyphosate-480"].startswith("2.0")


def test_it_confirms_the_day_of_all_at_once(hand, world):
    hand.tablet.go(f"/order/{world.pulling.public_id}/close")
    hand.tap("All patches 100%")
    hand.tap("Close the order")
    hand.page.get_by_text("Closed by Lena Ward").wait_for()
    hand.tablet.go("/day")
    hand.page.get_by_label("Other time").first.select_option("repair")
    hand.tap("Add it for Lena Ward")
    hand.tap("Same drive and other time for all as Lena Ward")
    hand.page.get_by_role("group", name="Repair, Rye Colby").wait_for()
    hand.tap("Confirm the day for all")
    hand.page.get_by_text("This day is confirmed").wait_for()
    sheets = [row["body"] for row in hand.queued("day-sheet")]
    assert {sheet["person"] for sheet in sheets} == {
        str(one.public_id) for one in (world.lead, world.technician, world.minor)
    }
    for sheet in sheets:
        assert [line["code"] for line in sheet["lines"]] == ["work", "drive", "repair"]
        assert sheet["rule"] == "minutes"
    closed = [row for row in hand.body("close-order")["times"] if row["person"] == sheets[0]["person"]]
    lines = {line["code"]: line for line in sheets[0]["lines"]}
    assert sum(row["minutes"] for row in closed) == lines["work"]["minutes"] + lines["drive"]["minutes"]


def test_it_keeps_what_was_begun(hand, world):
    path = f"/order/{world.pulling.public_id}/close"
    hand.tablet.go(path)
    hand.fill("Notes", "Fence down at the creek")
    hand.tap("All patches 100%")
    hand.tablet.until(DRAFTED, f"draft/close/{world.pulling.public_id}")
    hand.page.reload()
    hand.tablet.ready()
    assert hand.page.get_by_label("Notes", exact=True).input_value() == "Fence down at the creek"
    assert hand.page.get_by_role("button", name="Close the order").is_enabled()
    assert hand.queued("close-order") == []
