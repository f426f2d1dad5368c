"""The steps from an empty database to an issued order, as a person goes them by the set-up guide."""

import json
import re
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from playwright.sync_api import Page, expect

from orders.common.clock import now
from orders.common.first_code import first_code
from orders.common.models.run import DONE, QUEUED
from orders.common.runs import run_claim, run_models, run_perform

PASSWORD = "kestrel over the hedge"
SITE = (-85.75, 38.20)
PLAN = {
    "emergency_access": "North gate; the key hangs in the shed",
    "meeting_lat": "38.21",
    "meeting_lon": "-85.74",
    "nearest_medical_help": "Mill Hospital",
    "medical_phone": "555 0100",
    "medical_address": "1 Mill Road",
    "radio_or_phone": "Telephone works on the ridge",
}
PEOPLE = (("Ada Fern", "Crew lead"), ("Ben Ash", "Crew member"), ("Cy Oak", "Crew member"), ("Di Elm", "Applicator"))


def _square(lon, lat, side):
    ring = [[lon, lat], [lon + side, lat], [lon + side, lat + side], [lon, lat + side], [lon, lat]]
    return {"type": "Polygon", "coordinates": [ring]}


PLAIN = [
    {"Sp": "Winter creeper", "Habit": "carpet"},
    {"Sp": "Euonymus fortunei (Turcz.)", "Habit": "ground cover"},
    {"Sp": "wintercreeper", "Habit": "Groundcover"},
]
STEMS = {"Sp": "Winter creeper", "Habit": "vine", "StemsUnder1in": 120, "Stems1to3in": 10, "StemsOver3in": 0}
WIDE = 0.0003  # degrees: more than a crew pulls by hand, and no more than is tarped
WITH_STEMS = [STEMS, STEMS, {"Sp": "wintercreeper", "Habit": "carpet", "PctCov": "60%", "side": WIDE}]

COLUMNS = {
    "patch_code": "PatchNo",
    "observed_on": "Seen",
    "observer": "Surveyor",
    "wet_ground": "Wet",
    "distance_to_water_m": "Water_m",
}
STEM_COLUMNS = {"stems_small": "StemsUnder1in", "stems_medium": "Stems1to3in", "stems_large": "StemsOver3in"}


def _survey(plants):
    """Small patches, in the words and columns of somebody else."""
    lon, lat = SITE
    rows = [
        {
            "type": "Feature",
            "properties": {
                "PatchNo": f"P{number}",
                "PctCov": f"{20 + 10 * number}%",
                "Seen": f"11/{14 + number}/2026",
                "Acres": 0.1,
                "Wet": "N",
                "Water_m": 90,
                "Surveyor": "A. Fern",
                **{name: said for name, said in plant.items() if name != "side"},
            },
            "geometry": _square(lon + 0.004 * number, lat + 0.005, plant.get("side", 0.0002)),
        }
        for number, plant in enumerate(plants, 1)
    ]
    return json.dumps({"type": "FeatureCollection", "features": rows}).encode()


def _file(name, content):
    return {"name": name, "mimeType": "application/geo+json", "buffer": content}


def _fill(page: Page, address: str, values: dict[str, str]) -> None:
    """A form of setting up: what is typed, and its button."""
    page.goto(address)
    for name, value in values.items():
        field = page.locator(f"#id_{name}")
        if field.evaluate("it => it.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
    press(page)


def press(page: Page) -> None:
    here = page.url
    page.locator("main form .button-main:visible").first.click()
    page.wait_for_load_state()
    assert page.locator(".notice.trouble[role=alert]").count() == 0, f"{here}: {page.locator('main').inner_text()}"


def guide(page: Page, button: str) -> None:
    """The next page by the guide's own button."""
    page.goto("/setup/")
    page.locator("main").get_by_role("link", name=button, exact=True).first.click()
    page.wait_for_load_state()


def step(page: Page, name: str) -> str:
    """How the guide says that a step stands."""
    page.goto("/setup/")
    return page.locator(".setup-steps > li", has=page.get_by_role("heading", name=name, exact=True)).inner_text()


def _jobs_done() -> None:
    """What the worker beside the server would do."""
    for model in run_models():
        for run in model._default_manager.filter(state=QUEUED):
            attempt = run_claim(run, at=datetime.now(UTC))
            assert attempt is not None
            assert run_perform(run, attempt, clock=now) == DONE


def first_login(page: Page) -> None:
    page.goto("/")
    expect(page.get_by_role("heading", name="The first login")).to_be_visible()
    for name, value in (("code", first_code()), ("username", "ann"), ("password", PASSWORD), ("again", PASSWORD)):
        page.locator(f"#id_{name}").fill(value)
    press(page)
    expect(page.get_by_role("heading", name="Set-up guide")).to_be_visible()


def next_page(page: Page) -> str:
    """The page that the guide leads to next."""
    page.goto("/setup/")
    page.locator("main .button-main").first.click()
    page.wait_for_load_state()
    return page.url


def ground(page: Page) -> None:
    assert next_page(page).endswith("/usual/jurisdictions/")
    page.locator("main input[value=KY]").check()
    press(page)
    assert next_page(page).endswith("/usual/species/")
    press(page)
    assert next_page(page).endswith("/setup/sites/new/")
    page.set_input_files("#id_file", _file("site.geojson", json.dumps(_square(*SITE, 0.02)).encode()))
    expect(page.locator("#id_jurisdiction")).to_have_value("KY")
    for name, value in (("code", "HOLLOW"), ("name", "Hollow Wood"), ("drive_minutes", "20"), ("drive_miles", "12")):
        page.locator(f"#id_{name}").fill(value)
    page.get_by_role("button", name="Add the site").click()
    expect(page.get_by_text("Hollow Wood is added.")).to_be_visible()
    assert "the emergency plan lacks" in step(page, "Sites")
    _fill(page, next_page(page), PLAN)
    assert next_page(page).endswith("/usual/questions/")
    press(page)
    assert "7 questions not answered" in step(page, "Answers for each site")
    next_page(page)
    for answer in page.locator("[id$=-answer]").all():
        answer.fill("Asked the land manager: nothing to keep clear of")
    press(page)


def rates(page: Page) -> None:
    page.goto("/setup/")
    page.get_by_role("button", name="Load the reference methods and rates").first.click()
    expect(page.get_by_text("is a draft with")).to_be_visible()
    assert next_page(page).endswith("/setup/roles/rates/")
    expect(page.get_by_text("an invented figure")).to_be_visible()
    page.locator("#id_source").fill("Payroll of November")
    press(page)
    next_page(page)
    page.get_by_role("link", name="Effect on open work, put in force").click()
    page.get_by_role("button", name="Put in force").click()
    expect(page.get_by_text("is in force from")).to_be_visible()


def people(page: Page) -> None:
    assert next_page(page).endswith("/setup/people/new/")
    for name, role in PEOPLE:
        page.locator("#id_name").fill(name)
        page.locator("#id_role").select_option(label=role)
        page.get_by_role("button", name="Add, and then the next").click()
        expect(page.get_by_text(f"{name} is added.")).to_be_visible()
    assert next_page(page).endswith("/setup/crews/new/")
    page.locator("#id_name").fill("Hollow crew")
    for box in page.locator("input[name=people]").all():
        box.check()
    page.locator("#id_lead").select_option(label="Ada Fern")
    press(page)
    expect(page.get_by_text("Hollow crew is added with 4 people on it.")).to_be_visible()


def money(page: Page) -> None:
    """One fund that pays every order, as the first rule says by itself."""
    _fill(page, next_page(page), {"code": "CITY", "name": "City operations"})
    assert next_page(page).endswith("/money/rules/new/")
    press(page)


def surveyed(page: Page, plants: list[dict[str, Any]]) -> None:
    guide(page, "Bring a survey in")
    page.set_input_files("main input[type=file]", _file("walked.geojson", _survey(plants)))
    press(page)
    for name, column in {**COLUMNS, **(STEM_COLUMNS if STEMS in plants else {})}.items():
        if page.locator(f"#from-{name}").input_value() != column:
            field = page.locator(f"#from-{name}")
            if not field.is_visible():  # what the file seems not to hold is folded away
                field.locator("xpath=ancestor::details[1]/summary").click()
            with page.expect_response(lambda reply: reply.request.method == "POST"):
                field.select_option(column)
    page.locator("#matches button.button-main").click()
    page.wait_for_url("**/look/")
    _jobs_done()
    page.reload()
    page.get_by_role("button", name="Take 3 surveys").click()
    page.wait_for_url(re.compile("/surveys/[0-9a-f-]{36}/$"))
    _jobs_done()


def recommended(page: Page) -> None:
    page.get_by_role("button", name="What is recommended, everywhere").click()


def season(page: Page, choose: Callable[[Page], None] = recommended) -> None:
    guide(page, "Make estimates")
    page.get_by_role("button", name="Estimate them").click()
    page.wait_for_url("**/runs/**")
    _jobs_done()
    assert next_page(page).endswith("/seasons/new/")
    press(page)
    guide(page, "Choose")
    choose(page)
    page.get_by_role("button", name="Look at it and confirm").click()
    page.wait_for_url("**/review/**")
    why = page.get_by_label("Why not what is recommended?")
    if why.count():
        why.fill("Vines are cut where they stand")
    press(page)
    guide(page, "Plan")
    press(page)
    _jobs_done()
    page.wait_for_load_state()


def accepted(page: Page) -> None:
    guide(page, "Plan")
    page.locator("main a[href^='/plans/']").first.click()
    page.wait_for_url("**/plans/**")
    page.goto(f"{page.url.split('#')[0]}accept/")
    press(page)


def issued(page: Page) -> None:
    page.goto("/orders/")
    for box in page.locator("main table input[type=checkbox]").all():
        box.check()
    page.get_by_role("button", name="Issue the marked orders").click()
    page.wait_for_load_state()


def counted(page: Page) -> Counter[str]:
    """Pages that are loaded and what is clicked, for who wants to know how long the way is."""
    counted: Counter[str] = Counter()
    page.on("domcontentloaded", lambda _: counted.update(["pages loaded"]))
    page.expose_function("clickCounted", lambda: counted.update(["clicks"]))
    page.add_init_script("addEventListener('click', it => it.isTrusted && it.detail && clickCounted(), true)")
    return counted


def printed(page: Page, server: str) -> None:
    """The packet of an order; asked for beside the page, since a browser shows a PDF by a program of its own."""
    page.goto("/orders/")
    page.locator("main table input[type=checkbox]").first.check()
    page.get_by_role("button", name="Packets of the marked orders").click()
    button = page.get_by_role("button", name="Print the bundle")
    told = button.evaluate("it => Object.fromEntries(new FormData(it.form))")
    reply = page.request.post(f"{server}/packets/print/", form=told, headers={"Referer": page.url})
    assert (reply.status, reply.headers["content-type"]) == (200, "application/pdf")
