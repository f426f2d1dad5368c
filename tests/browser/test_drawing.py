"""Drawing a patch with mouse, keys, table and text; the area told while one draws is that of the server."""

import json

import pytest
import shapely
from playwright.sync_api import expect

from orders.sites.geofiles.areas import from_geojson, geodesic_area_m2
from orders.sites.models import Patch, Survey
from tests.browser import drawing_pages

pytestmark = pytest.mark.browser
OUTLINES = {
    "a garden": shapely.box(-85.70002, 38.20001, -85.69998, 38.20003),
    "a site at the equator": shapely.box(-0.02, -0.02, 0.02, 0.02),
    "a long site in the north": shapely.Polygon([(-150.0, 64.8), (-149.9, 64.82), (-149.93, 64.9), (-150.05, 64.88)]),
    "with a hole": shapely.box(-85.72, 38.2, -85.68, 38.23).difference(shapely.box(-85.71, 38.21, -85.7, 38.22)),
    "in two parts": shapely.MultiPolygon(
        [shapely.box(-85.7, 38.2, -85.69, 38.21), shapely.box(-85.6, 38.2, -85.59, 38.2001)]
    ),
}
AREA = "async (text) => (await import('/static/desk/map/drawing_area.js')).areaM2(\
(await import('/static/desk/map/drawing_text.js')).fromText(text))"
CROSSES = "async (text) => (await import('/static/desk/map/drawing_area.js')).crossing(\
(await import('/static/desk/map/drawing_text.js')).fromText(text), true) !== null"


@pytest.fixture
def drawing(page, enter, transactional_db):
    enter("coordinator", first_name="Cora", last_name="Finch")
    page.goto(drawing_pages.new_patch())
    page.locator("[data-part=map]").scroll_into_view_if_needed()
    return page


def tap(page, *places):
    box = page.locator("[data-part=map]").bounding_box()
    for east, south in places:
        page.mouse.click(box["x"] + box["width"] / 2 + east, box["y"] + box["height"] / 2 + south)
        page.wait_for_timeout(350)  # two taps that follow at once are a double tap, which brings the map nearer


def drawn(page):
    return json.loads(page.input_value("[name=outline]"))


def size(page):
    return page.locator("[data-part=size]")


SQUARE = ((-80, -60), (80, -60), (80, 60), (-80, 60))


def test_the_area_told_is_that_of_the_server(drawing):
    for name, shape in OUTLINES.items():
        for text in (shapely.to_geojson(shape), shapely.to_wkt(shape, rounding_precision=7)):
            told = drawing.evaluate(AREA, text)
            assert told == pytest.approx(geodesic_area_m2(shape), rel=1e-3), name


def test_crossing_outlines_are_those_that_the_server_refuses(drawing):
    box = shapely.box(0, 0, 4, 4)
    hole = shapely.box(1, 1, 2, 2)
    for shape in (
        box,
        box.difference(hole),
        shapely.Polygon([(0, 0), (4, 4), (4, 0), (0, 4)]),
        shapely.Polygon([(0, 0), (4, 0), (2, 0), (2, 3)]),
        shapely.Polygon(box.exterior, [shapely.box(3, 3, 5, 5).exterior]),
        shapely.MultiPolygon([box, shapely.box(3, 3, 6, 6)]),
        shapely.MultiPolygon([box, shapely.box(5, 5, 6, 6)]),
    ):
        assert drawing.evaluate(CROSSES, shapely.to_geojson(shape)) == (not shape.is_valid), shape.wkt


def test_a_patch_is_drawn_with_the_mouse_and_kept(drawing):
    tap(drawing, *SQUARE)
    expect(size(drawing)).to_contain_text("4 corners")
    drawing.fill("[name=c0-cover_percent]", "40")
    drawing.select_option("[name=c0-species]", "EUFO")
    drawing.select_option("[name=c0-growth_form]", "ground cover")
    shape = from_geojson(drawing.input_value("[name=outline]"))
    drawing.click("text=Keep the survey")
    drawing.wait_for_url("**/patches/*-*/")
    assert Survey.objects.get().gross_area_m2 == pytest.approx(geodesic_area_m2(shape), rel=1e-6)


def test_corners_are_dragged_removed_and_steps_undone(drawing):
    tap(drawing, *SQUARE)
    before = drawn(drawing)
    box = drawing.locator("[data-part=map]").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    drawing.mouse.move(x - 80, y - 60)
    drawing.mouse.down()
    drawing.mouse.move(x - 120, y - 90, steps=3)
    drawing.mouse.up()
    assert drawn(drawing)["coordinates"][0][0] != before["coordinates"][0][0]
    expect(size(drawing)).to_contain_text("4 corners")
    drawing.click("text=Remove corner")
    expect(size(drawing)).to_contain_text("3 corners")
    drawing.get_by_role("button", name="Undo", exact=True).click()
    drawing.get_by_role("button", name="Undo", exact=True).click()
    assert drawn(drawing) == before
    drawing.get_by_role("button", name="Redo", exact=True).click()
    assert drawn(drawing) != before


def test_all_of_it_goes_by_keyboard(drawing):
    drawing.locator("summary", has_text="Corners as a table").focus()
    drawing.keyboard.press("Enter")
    middle = drawing.get_by_role("button", name="Add a corner in the middle of the map")
    middle.focus()
    for _ in range(3):
        drawing.keyboard.press("Enter")
    for row, (east, north) in enumerate(((-85.7, 38.2), (-85.699, 38.2), (-85.699, 38.201)), start=1):
        drawing.get_by_label(f"Corner {row}, longitude").fill(str(east))
        drawing.get_by_label(f"Corner {row}, latitude").fill(str(north))
        drawing.keyboard.press("Tab")
    assert drawn(drawing)["coordinates"][0][:3] == [[-85.7, 38.2], [-85.699, 38.2], [-85.699, 38.201]]
    handle = drawing.locator(".drawing-handle")
    handle.focus()
    drawing.keyboard.press("Enter")
    expect(size(drawing)).to_contain_text("4 corners")
    at = drawn(drawing)["coordinates"][0]
    drawing.keyboard.press("ArrowUp")
    drawing.keyboard.press("Shift+ArrowLeft")
    moved = drawn(drawing)["coordinates"][0]
    assert [one for one, other in zip(at, moved, strict=True) if one != other] != []
    drawing.keyboard.press("PageUp")
    drawing.keyboard.press("Delete")
    expect(size(drawing)).to_contain_text("3 corners")
    expect(handle).to_be_focused()


def test_parts_holes_and_text(drawing):
    tap(drawing, *SQUARE)
    drawing.click("text=Cut a hole")
    drawing.locator("[data-part=map]").scroll_into_view_if_needed()
    tap(drawing, (-20, -20), (20, -20), (0, 20))
    drawing.click("text=Draw another part")
    drawing.locator("[data-part=map]").scroll_into_view_if_needed()
    tap(drawing, (-220, -20), (-180, -20), (-200, 20))
    made = drawn(drawing)
    assert (made["type"], [len(rings) for rings in made["coordinates"]]) == ("MultiPolygon", [2, 1])
    assert from_geojson(json.dumps(made)).is_valid
    text = drawing.locator("[name=outline]")
    text.fill("POLYGON((-85.7 38.2, -85.699 38.201, -85.699 38.2, -85.7 38.201, -85.7 38.2))")
    text.blur()
    expect(drawing.locator("[data-part=trouble]")).to_contain_text("crosses itself")
    text.fill("no outline at all")
    text.blur()
    expect(drawing.locator("[data-part=trouble]")).to_contain_text("neither GeoJSON")


def test_a_place_comes_from_the_device(drawing, context):
    context.grant_permissions(["geolocation"])
    context.set_geolocation({"longitude": -85.6995, "latitude": 38.2005, "accuracy": 6})
    drawing.click("text=Corner where I stand")
    expect(drawing.locator("[data-part=place]")).to_contain_text("within 6 m")
    assert drawn(drawing) == {"type": "Point", "coordinates": [-85.6995, 38.2005]}


def test_a_patch_is_split_along_a_line(page, enter, transactional_db):
    enter("coordinator")
    page.goto(drawing_pages.split())
    page.locator("[data-part=map]").scroll_into_view_if_needed()
    page.get_by_role("button", name="Zoom out").click()
    page.wait_for_timeout(600)
    tap(page, (0, -220), (0, 220))
    page.click("text=Look at the pieces")
    expect(page.get_by_label("Code of piece 1")).to_have_value("B-04a")
    page.get_by_label("Reason").fill("The brook parts it")
    page.get_by_role("button", name="Split the patch").click()
    page.wait_for_url("**/patches/*-*/")
    assert set(Patch.objects.filter(ended_on=None).values_list("code", flat=True)) == {"B-04a", "B-04b"}


def test_nothing_moves_under_the_finger_when_there_is_trouble(drawing):
    place = "document.querySelector('[data-does=adding]').getBoundingClientRect().top + scrollY"
    before = drawing.evaluate(place)
    drawing.locator("[name=outline]").fill("nonsense")
    drawing.locator("[name=outline]").blur()
    expect(drawing.locator("[data-part=trouble]")).to_be_visible()
    assert drawing.evaluate(place) == before
