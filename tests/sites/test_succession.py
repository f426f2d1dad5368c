"""Patches split and merged: what was known is shared out or put together, and both can be taken back."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest

from orders.common.errors import Invalid, WrongState
from orders.common.models import Change
from orders.sites.cutting import cut_by_line, cut_by_outlines
from orders.sites.geofiles.areas import from_geojson, geodesic_area_m2
from orders.sites.lineage import ancestry, lineage
from orders.sites.models import Patch, Survey
from orders.sites.selectors import survey_newest, surveys_current
from orders.sites.services import Piece, patch_merge, patch_split, succession_undo, survey_add
from orders.sites.services.succession import code_for_merged, codes_for_pieces
from orders.sites.sharing import shape_of, whole_shares
from tests import build
from tests.build.base import square
from tests.sites.sheets import newest, sheet

pytestmark = pytest.mark.django_db
ACROSS = "LINESTRING(-85.69975 38.199, -85.69975 38.202)"  # a quarter of the square lies west of it


def patch_build(code="B-04", site=None, geometry=None, **facts):
    """Wintercreeper on 80 of 100 parts of a square, with counted stems."""
    patch = build.PatchFactory(site=site or build.SiteFactory(code="HOLLOW"), code=code, target_cover=0.02)
    shape = geometry or square()
    area = geodesic_area_m2(from_geojson(json.dumps(shape)))
    survey = build.SurveyFactory(patch=patch, geometry=shape, gross_area_m2=area, components=[], **facts)
    counted = {"stems_small": 101, "stems_large": 3, "host_trees": 7}
    build.SurveyComponentFactory(survey=survey, infested_area_m2=0.8 * area, **counted)
    return patch


@pytest.fixture
def patch(db):
    return patch_build()


@pytest.fixture
def because(stamp):
    return stamp.because("The brook parts them")


def halves(patch):
    pieces = cut_by_line(shape_of(newest(patch)), ACROSS)
    return [Piece(code, piece) for code, piece in zip(codes_for_pieces(patch, 2), pieces, strict=True)]


def refused_with(refused):
    return " ".join(error.message for error in refused.value.errors)


def test_a_split_shares_areas_and_whole_stems(patch, because):
    before = newest(patch)
    made = patch_split(patch=patch, pieces=halves(patch), stamp=because)
    patch.refresh_from_db()
    assert (patch.ended_on, survey_newest(patch)) == (because.at.date(), None)
    assert [one.code for one in made.after] == ["B-04a", "B-04b"]
    surveys = [newest(one) for one in made.after]
    parts = [survey.components.get() for survey in surveys]
    assert surveys[0].gross_area_m2 == pytest.approx(0.75 * before.gross_area_m2, rel=1e-4)
    assert sum(survey.gross_area_m2 for survey in surveys) == pytest.approx(before.gross_area_m2, rel=1e-6)
    assert sum(part.infested_area_m2 for part in parts) == pytest.approx(0.8 * before.gross_area_m2, rel=1e-6)
    assert [part.stems_small for part in parts] == [76, 25]
    assert (sum(part.stems_large or 0 for part in parts), sum(part.host_trees or 0 for part in parts)) == (3, 7)
    assert {(part.cover_low, part.cover_likely, part.cover_high) for part in parts} == {(0.36, 0.4, 0.44)}
    assert all("shared by area" in survey.notes and survey.observed_on == before.observed_on for survey in surveys)
    assert all((one.target_cover, one.site) == (0.02, patch.site) for one in made.after)


def test_a_split_is_told_in_the_record_and_in_both_directions(patch, because):
    made = patch_split(patch=patch, pieces=halves(patch), stamp=because)
    assert [row.after for row in lineage(patch).became] == list(made.after)
    assert [row.before for row in lineage(made.after[0]).came_of] == [patch]
    verbs = list(Change.objects.order_by("id").values_list("verb", flat=True))
    assert verbs == ["patch_add", "survey_add", "patch_add", "survey_add", "patch_end", "patch_split"]


def test_pieces_of_one_code_are_one_patch(patch, because):
    pieces = cut_by_outlines(shape_of(newest(patch)), _three())
    named = [Piece(code, piece) for code, piece in zip(("B", "A", "A"), pieces, strict=True)]
    made = patch_split(patch=patch, pieces=named, stamp=because)
    assert [newest(one).geometry["type"] for one in made.after] == ["Polygon", "MultiPolygon"]


def _three():
    west, east = square(side=0.0002), square(lon=-85.6994, side=0.0003)
    return f'{{"type": "MultiPolygon", "coordinates": [{west["coordinates"]}, {east["coordinates"]}]}}'


def test_the_rest_beside_what_was_drawn_is_a_piece_too(patch):
    pieces = cut_by_outlines(shape_of(newest(patch)), _three())
    whole = newest(patch).gross_area_m2
    assert len(pieces) == 3
    assert sum(geodesic_area_m2(piece) for piece in pieces) == pytest.approx(whole, rel=1e-6)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("LINESTRING(-85.6995 38.2002, -85.6995 38.2004)", "does not cut"),
        ("LINESTRING(-85.80 38.199, -85.80 38.202)", "does not cut"),
        ("POINT(-85.7 38.2)", "Draw a line"),
        ("", "Draw it"),
        ("LINESTRING(-85.701 38.2, -85.699 38.201, -85.699 38.2, -85.701 38.201)", "crosses itself"),
    ],
)
def test_a_line_that_cuts_nothing_is_refused(patch, line, words):
    with pytest.raises(Invalid) as refused:
        cut_by_line(shape_of(newest(patch)), line)
    assert words in refused_with(refused)


def test_pieces_must_be_the_patch_and_nothing_else(patch, because):
    west, east = halves(patch)
    for pieces, words in (
        ([west], "Two pieces"),
        ([west, Piece("Z", west.outline)], "overlap"),
        ([Piece("Y", east.outline), Piece("Z", from_geojson(json.dumps(square(lon=-85.8))))], "out of"),
    ):
        with pytest.raises(Invalid) as refused:
            patch_split(patch=patch, pieces=pieces, stamp=because)
        assert words in refused_with(refused)
    assert Patch.objects.count() == 1


def test_a_split_needs_free_codes_and_a_reason(patch, stamp, because):
    build.PatchFactory(site=patch.site, code="B-04a")
    assert codes_for_pieces(patch, 2) == ["B-04b", "B-04c"]
    pieces = [Piece(code, piece.outline) for code, piece in zip(("B-04a", "New"), halves(patch), strict=True)]
    with pytest.raises(Invalid, match="split that way") as refused:
        patch_split(patch=patch, pieces=pieces, stamp=because)
    assert [(error.field, error.row) for error in refused.value.errors] == [("code", 1)]
    with pytest.raises(Invalid):
        patch_split(patch=patch, pieces=halves(patch), stamp=stamp)


def test_a_merge_weights_cover_and_sums_stems(because):
    one = patch_build("B-04", wet_ground="no", minutes_from_gate=6.0)
    east = square(lon=-85.699)
    other = patch_build("B-05", site=one.site, geometry=east, wet_ground="yes", minutes_from_gate=11.0)
    part = newest(other).components.get()
    type(part).objects.filter(pk=part.pk).update(
        infested_area_m2=part.infested_area_m2 / 2, cover_low=0.6, cover_likely=0.7, cover_high=0.8
    )
    made = patch_merge(patches=[one, other], code=code_for_merged([one, other]), stamp=because)
    survey = newest(made.after[0])
    merged = survey.components.get()
    assert (made.after[0].code, survey.geometry["type"]) == ("B-04+B-05", "Polygon")
    assert (merged.cover_low, merged.cover_likely, merged.cover_high) == pytest.approx((0.44, 0.5, 0.56), rel=1e-4)
    assert (merged.stems_small, merged.host_trees) == (202, 14)
    assert (survey.wet_ground, survey.minutes_from_gate) == ("yes", 11.0)
    assert survey.gross_area_m2 == pytest.approx(2 * newest_area(one), rel=1e-4)
    assert "not seen anew" in survey.notes
    assert not surveys_current().filter(patch__in=[one, other]).exists()


def newest_area(patch):
    return Survey.objects.filter(patch=patch).latest("observed_on").gross_area_m2


def test_a_merge_keeps_species_apart(because):
    one, other = patch_build("B-04"), None
    other = patch_build("B-05", site=one.site, geometry=square(lon=-85.699))
    build.SurveyComponentFactory(
        survey=newest(other), growth_form=build.GrowthFormFactory(code="climbing"), infested_area_m2=100.0
    )
    made = patch_merge(patches=[one, other], code="B-06", stamp=because)
    forms = newest(made.after[0]).components.values_list("growth_form__code", flat=True)
    assert set(forms) == {"ground cover", "climbing"}


def test_a_merge_is_of_one_site_and_of_outlines(because):
    one, far = patch_build("B-04"), patch_build("B-05", site=build.SiteFactory(code="FAR"))
    point = {"type": "Point", "coordinates": [-85.7, 38.2]}
    place = build.PatchFactory(site=one.site, code="B-06")
    build.SurveyFactory(patch=place, geometry=point)
    for patches, words in (([one, far], "different sites"), ([one, one], "Two different"), ([one, place], "outline")):
        with pytest.raises(Invalid) as refused:
            patch_merge(patches=patches, code="B-09", stamp=because)
        assert words in refused_with(refused)


def test_taken_back_the_patch_stands_again_and_codes_are_free(patch, because):
    made = patch_split(patch=patch, pieces=halves(patch), stamp=because)
    succession_undo(event=made.event, stamp=because)
    patch.refresh_from_db()
    assert patch.ended_on is None
    assert survey_newest(patch) is not None
    assert not surveys_current().filter(patch__in=made.after).exists()
    assert lineage(patch).became == ()
    again = patch_split(patch=patch, pieces=halves(patch), stamp=because)
    assert [one.code for one in again.after] == ["B-04a", "B-04b"]
    with pytest.raises(WrongState):
        succession_undo(event=made.event, stamp=because)


def test_what_is_new_on_the_pieces_keeps_a_split(patch, because):
    made = patch_split(patch=patch, pieces=halves(patch), stamp=because)
    child = made.after[0]
    outline = newest(child).geometry
    later = replace(because, at=because.at + timedelta(hours=1))
    survey_add(patch=child, sheet=sheet(outline=outline), stamp=later)
    with pytest.raises(WrongState) as refused:
        succession_undo(event=made.event, stamp=because)
    assert "B-04a was surveyed since" in refused_with(refused)


def test_a_merge_of_pieces_knows_its_ancestors(patch, because, django_assert_num_queries):
    made = patch_split(patch=patch, pieces=halves(patch), stamp=because)
    whole = patch_merge(patches=made.after, code="B-99", stamp=because).after[0]
    with django_assert_num_queries(3):  # two steps back, and one to see that there is no third
        found = ancestry(whole)
    assert [(row.before.code, row.after.code) for row in found] == [
        ("B-04", "B-04a"),
        ("B-04", "B-04b"),
        ("B-04a", "B-99"),
        ("B-04b", "B-99"),
    ]


@pytest.mark.parametrize(("total", "weights"), [(7, [1, 1, 1]), (0, [2, 1]), (101, [3, 1]), (1, [1, 1])])
def test_whole_shares_sum_to_the_total(total, weights):
    shares = whole_shares(total, weights)
    assert sum(shares) == total
    assert all(abs(share - total * weight / sum(weights)) < 1 for share, weight in zip(shares, weights, strict=True))
