"""Photographs, places and drawings of a day's work, and the tablet's own figures against the program's."""

import io

import pytest
from PIL import Image
from pyproj import Geod

from tests.browser.tablet import CALL
from tests.browser.test_tablet_work import opened, outside, rows_of
from tests.estimating.safety_grid import safety_grid

__all__ = ["outside"]  # a fixture
pytestmark = pytest.mark.browser
GEOD = Geod(ellps="WGS84")
GPS = 0x8825  # where a camera writes the place
# Calls a function of one of the app's modules once for each row, with each row's arguments.
EACH = """async ([module, name, rows]) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const called = (await import(root + module))[name];
  return rows.map((row) => called(...row));
}"""
# The bytes of the one photograph that waits.
PICTURE = """async (module) => {
  const root = document.querySelector("script[type=module]").src.replace("core/start.js", "");
  const [row] = await (await import(root + "core/store.js")).all("photos");
  return { bytes: [...new Uint8Array(await row.blob.arrayBuffer())], meta: row.meta, sent: row.sent };
}"""


def photo(width=3000, height=1500):
    """As a camera makes it: large, lying on its side, with the place in it."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(GPS)[1] = "N"
    exif.get_ifd(GPS)[2] = (38.0, 12.0, 0.0)
    made = io.BytesIO()
    Image.new("RGB", (width, height), "darkgreen").save(made, "JPEG", exif=exif)
    return {"name": "camera.jpg", "mimeType": "image/jpeg", "buffer": made.getvalue()}


def test_it_shrinks_a_photo_and_leaves_out_what_the_camera_wrote(outside, world):
    page = opened(outside, f"/order/{world.pulling.public_id}/work", "Tallow Fork")
    page.get_by_label("Photo before").first.set_input_files(photo())
    page.locator(".photo-list img").first.wait_for()
    (row,) = rows_of(outside, "photo")
    kept = page.evaluate(PICTURE)
    picture = Image.open(io.BytesIO(bytes(kept["bytes"])))
    assert picture.size == (1024, 2048)
    assert dict(picture.getexif()) == {}
    body = row["body"]
    given = {"id", "subject", "taken_at", "content_type", "size_bytes", "sha256", "about", "about_id"}
    assert set(body) == given
    assert (body["subject"], body["about"], body["size_bytes"]) == ("before", "prescription", len(kept["bytes"]))
    assert row["order"] == str(world.pulling.public_id)


def here(tablet, lon, lat):
    tablet.context.grant_permissions(["geolocation"])
    tablet.context.set_geolocation({"longitude": lon, "latitude": lat, "accuracy": 6})


def test_it_sends_a_place_only_with_the_photo_that_it_was_asked_for(outside, world):
    here(outside, -85.698, 38.201)
    page = opened(outside, f"/order/{world.pulling.public_id}/work", "Tallow Fork")
    page.get_by_label("Send the place with the next photo").first.check()
    for number, word in enumerate(("Photo before", "Photo after"), start=1):
        page.get_by_label(word).first.set_input_files(photo(60, 40))
        page.locator(".photo-list img").nth(number - 1).wait_for()
    with_place, without = rows_of(outside, "photo")
    assert (with_place["body"]["lon"], with_place["body"]["lat"]) == (-85.698, 38.201)
    assert "lon" not in without["body"]


def test_it_says_which_way_the_next_patch_is(outside, world):
    here(outside, -85.6970, 38.2024)
    page = opened(outside, f"/order/{world.herbicide.public_id}/map", "Tallow Fork")
    page.get_by_text("Good to about 20 ft").wait_for()
    assert "P-03: 201 ft to the west." in page.locator(".way-words").inner_text()  # pyproj: 61.31 m at 270°
    page.get_by_role("button", name="Closer").click()
    page.get_by_role("button", name="Show where I am").click()
    assert page.locator(".map-own").count() == 1


def test_it_makes_a_detection_of_three_taps(outside, world):
    page = opened(outside, f"/detection/{world.site.public_id}", "New detection")
    page.get_by_label("Species").select_option(label="Another, or not sure")
    page.get_by_label("What it looks like").fill("Vine with square stems")
    page.get_by_label("Climbing").check()
    box = page.locator(".map-picture").bounding_box()
    for across, down in ((0.3, 0.3), (0.5, 0.3), (0.4, 0.5)):
        page.locator(".map-picture").click(position={"x": box["width"] * across, "y": box["height"] * down})
    page.get_by_text("Outline of").wait_for()
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name="Add corner at the cross").click()
    page.get_by_role("button", name="Save the detection").click()
    page.get_by_role("heading", name="Detection saved").wait_for()
    (row,) = rows_of(outside, "detection")
    body = row["body"]
    (ring,) = body["geometry"]["coordinates"]
    assert (body["geometry"]["type"], len(ring), ring[0]) == ("Polygon", 4, ring[3])
    assert (body["species_text"], body["growth_form"]) == ("Vine with square stems", "climbing")
    assert all(-85.7 < lon < -85.696 for lon, _ in ring)


def test_it_holds_labels_and_safety_data_sheets_whole(tablet, world):
    tablet.wait_for_orders(2)
    page = opened(tablet, f"/order/{world.herbicide.public_id}/label", "Labels and safety data")
    save = page.get_by_role("button", name="Save safety data sheet as a file")
    save.wait_for()
    tablet.offline()
    page.reload()
    with page.expect_download() as told:
        save.click()
    assert told.value.path().read_bytes().startswith(b"%PDF")


@pytest.fixture
def page(tablets):
    made = tablets()
    return made.open("/enroll")


def test_it_computes_heat_cold_and_rest_as_the_program_does(page):
    grid = safety_grid()
    for part, name in (("heat", "heatRisk"), ("cold", "coldRisk")):
        found = page.evaluate(EACH, ["parts/safety.js", name, [[row["given"]] for row in grid[part]]])
        assert len(found) > 50
        for mine, row in zip(found, grid[part], strict=True):
            assert {k: mine[k] for k in ("band", "actions")} == {k: row["found"][k] for k in ("band", "actions")}, row
            numbers = {k: v for k, v in row["found"].items() if isinstance(v, float)}
            assert {k: mine[k] for k in numbers} == pytest.approx(numbers, abs=1e-6), row
    rows = [list(row["given"].values()) for row in grid["work_rest"]]
    found = page.evaluate(EACH, ["parts/safety.js", "workMinutes", rows])
    assert found == [row["found"] for row in grid["work_rest"]]


RINGS = {
    "small": [[-85.7, 38.2], [-85.6999, 38.2], [-85.6999, 38.2002], [-85.7, 38.2001]],
    "long": [[-85.7, 38.2], [-85.64, 38.21], [-85.65, 38.24], [-85.69, 38.23]],
    "south": [[147.1, -42.9], [147.104, -42.9], [147.106, -42.896], [147.1, -42.894]],
    "north": [[25.0, 65.0], [25.02, 65.0], [25.02, 65.01], [25.0, 65.012]],
}


def area_m2(ring):
    square_m, _ = GEOD.polygon_area_perimeter([lon for lon, _ in ring], [lat for _, lat in ring])
    return abs(square_m)


def test_it_measures_areas_and_distances_as_the_ellipsoid_does(page):
    for ring in RINGS.values():
        closed = {"type": "Polygon", "coordinates": [[*ring, ring[0]]]}
        expected = area_m2(ring)
        assert page.evaluate(CALL, ["parts/map_geometry.js", "areaM2", [closed]]) == pytest.approx(
            abs(expected), rel=5e-4
        )
        (lon, lat), (to_lon, to_lat) = ring[0], ring[2]
        bearing, _, meters = GEOD.inv(lon, lat, to_lon, to_lat)
        assert page.evaluate(CALL, ["parts/map_geometry.js", "distanceM", [ring[0], ring[2]]]) == pytest.approx(
            meters, rel=1e-3
        )
        shown = page.evaluate(CALL, ["parts/map_geometry.js", "bearingDeg", [ring[0], ring[2]]])
        assert shown == pytest.approx(bearing % 360, abs=0.2)


def test_it_takes_holes_out_of_an_area(page):
    ring = RINGS["long"]
    hole = [[-85.67, 38.22], [-85.66, 38.22], [-85.66, 38.225], [-85.67, 38.22]]
    shape = {"type": "Polygon", "coordinates": [[*ring, ring[0]], hole]}
    measured = page.evaluate(CALL, ["parts/map_geometry.js", "areaM2", [shape]])
    assert measured == pytest.approx(area_m2(ring) - area_m2(hole), rel=5e-4)
    way = page.evaluate(CALL, ["parts/map_geometry.js", "wayTo", [shape, [-85.668, 38.2]]])
    assert way["meters"] > 0


def test_it_reads_a_place_out_in_degrees_and_minutes(page):
    shown = page.evaluate(CALL, ["parts/map_geometry.js", "spoken", [[-85.69999999, 38.2005]]])
    assert shown == {"decimal": "38.20050, -85.70000", "minutes": "38° 12.030′ N  85° 42.000′ W"}


def test_it_counts_pauses_out_of_a_span(page):
    at = "2026-11-28T15:{:02d}:00.000Z".format
    given = {"id": "a", "person": "p", "crew": "c", "order": "o", "visit": "v", "at": at(0)}
    span = page.evaluate(CALL, ["parts/timers.js", "spanMake", [given]])
    for name, minute in (("paused", 10), ("paused", 12), ("resumed", 25), ("resumed", 26)):
        span = page.evaluate(CALL, ["parts/timers.js", name, [span, at(minute)]])
    running = page.evaluate(CALL, ["parts/timers.js", "minutesNow", [span, at(40)]])
    stopped = page.evaluate(CALL, ["parts/timers.js", "stopped", [span, at(45)]])
    assert running == 25
    assert (stopped["minutes"], stopped["ended_at"], stopped["queued"]) == (30, at(45), True)
