"""A site's boundary: changed, read from a file, and the patches that it leaves out."""

import json

import pytest
import shapely

from orders.common.errors import Invalid
from orders.sites.boundary_files import boundary_of_file
from orders.sites.services import site_edit, species_edit
from orders.sites.setting_up import patches_outside
from tests import build

pytestmark = pytest.mark.django_db
EAST = {
    "type": "Polygon",
    "coordinates": [[[-85.6, 38.2], [-85.6, 38.201], [-85.599, 38.201], [-85.599, 38.2], [-85.6, 38.2]]],
}
CROSSED = {"type": "Polygon", "coordinates": [[[0, 0], [1, 1], [1, 0], [0, 1], [0, 0]]]}


def test_it_moves_the_box_with_the_boundary(stamp):
    site = build.SiteFactory()
    site_edit(site=site, values={"boundary": EAST, "name": "East", "drive_minutes": 12}, expected=1, stamp=stamp)
    site.refresh_from_db()
    assert (site.min_lon, site.max_lon, site.name, site.drive_minutes) == (-85.6, -85.599, "East", 12)
    assert shapely.geometry.shape(site.boundary).equals(shapely.geometry.shape(EAST))


@pytest.mark.parametrize(
    ("values", "field"),
    [({"boundary": CROSSED}, "boundary"), ({"time_zone": "Louisville"}, "time_zone"), ({"name": ""}, "name")],
)
def test_it_refuses_what_cannot_be_so_and_changes_nothing(stamp, values, field):
    site = build.SiteFactory()
    with pytest.raises(Invalid) as refusal:
        site_edit(site=site, values=values | {"drive_minutes": 99}, expected=1, stamp=stamp)
    site.refresh_from_db()
    assert ([error.field for error in refusal.value.errors], site.drive_minutes) == ([field], 30)


def test_it_names_the_patches_that_a_boundary_leaves_out(stamp):
    inside, beyond = build.SurveyFactory(), None
    site = inside.patch.site
    beyond = build.SurveyFactory(patch__site=site, geometry=EAST)
    assert patches_outside(site) == [(beyond.patch, True)]
    site_edit(site=site, values={"boundary": EAST}, expected=1, stamp=stamp)
    assert patches_outside(site) == [(inside.patch, True)]


def _file(*outlines):
    features = [{"type": "Feature", "properties": {"any": 1}, "geometry": outline} for outline in outlines]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


def test_it_takes_the_one_outline_of_a_file():
    found = boundary_of_file(_file(EAST), "site.geojson")
    assert shapely.geometry.shape(found).equals(shapely.geometry.shape(EAST))


@pytest.mark.parametrize(
    "outlines", [(), (EAST, EAST), ({"type": "Point", "coordinates": [-85.6, 38.2]},)], ids=["none", "two", "a point"]
)
def test_it_takes_no_file_without_exactly_one(outlines):
    with pytest.raises(Invalid) as refusal:
        boundary_of_file(_file(*outlines), "site.geojson")
    assert [error.field for error in refusal.value.errors] == ["file"]


def test_it_changes_what_a_species_is(stamp):
    species = build.SpeciesFactory()
    values = {"common_name": "winter creeper", "pulled_stems_reroot": "yes", "reroot_source": "common practice"}
    species_edit(species=species, values=values, expected=1, stamp=stamp)
    species.refresh_from_db()
    assert (species.common_name, species.pulled_stems_reroot, species.version) == ("winter creeper", "yes", 2)


def test_it_asks_where_an_answer_about_rooting_comes_from(stamp):
    with pytest.raises(Invalid) as refusal:
        species_edit(species=build.SpeciesFactory(), values={"pulled_stems_reroot": "no"}, expected=1, stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["reroot_source"]
