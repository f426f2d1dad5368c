"""What a choice would do, before anything is stored."""

import pytest

from orders import flow
from orders.common.errors import NotFound
from orders.estimates.models import Method
from orders.planning.models import ChoiceBatch, Prescription
from orders.planning.preview import choices_preview
from tests import build
from tests.flow.world import BEGIN
from tests.planning.choices import ground_build, wide_survey

pytestmark = pytest.mark.django_db


@pytest.fixture
def ground():
    return ground_build()


def _methods(preview):
    return {row.line.patch.code: row.method.code for row in preview.new}


def test_it_shows_what_is_recommended_and_stores_nothing(ground):
    preview = ground.look()
    assert _methods(preview) == {"H-01": "hand-pull", "H-02": "dormant-foliar", "H-03": "dormant-foliar"}
    assert not preview.needs_why
    assert (Prescription.objects.count(), ChoiceBatch.objects.count()) == (0, 0)


def test_it_adds_up_the_rows(ground):
    preview = ground.look()
    made = [row.estimate for row in preview.new]
    assert preview.chosen.likely_cents == sum(row.total_cents for row in made)
    assert preview.chosen.paid_hours == pytest.approx(sum(row.paid_person_hours for row in made))
    assert preview.chosen.hours.low < preview.chosen.hours.likely < preview.chosen.hours.high
    assert preview.chosen.cents.low < preview.chosen.cents.likely < preview.chosen.cents.high


def test_it_sets_the_season_beside_what_the_crews_can_give(ground):
    preview = ground.look()
    days = preview.capacity.crew_days
    assert preview.capacity.paid_hours == days * 3 * 8
    assert preview.capacity.licensed_paid_hours == 0
    assert (preview.before.count, preview.after.count) == (0, 3)


def test_it_counts_the_hours_of_licensed_crews(ground):
    build.QualificationFactory(person=ground.world.lead.person)
    assert ground.look().capacity.licensed_paid_hours == ground.look().capacity.paid_hours


def test_it_asks_why_where_another_method_is_recommended(ground):
    assert ground.look("spot-foliar").needs_why
    assert not ground.look("spot-foliar", why="The neighbor keeps bees away in May.").needs_why
    assert not ground.look("dormant-foliar", ground.wide).needs_why


def test_it_refuses_what_does_not_fit_with_the_reason(ground):
    (row,) = ground.look("cut-stem", ground.wide).refused
    assert (row.fits, row.refused) == ("no", "Cut-stem treatment does not treat this growth form.")


def test_it_refuses_what_waits_for_the_survey(ground):
    patch = build.PatchFactory(site=ground.wide.site)
    wide_survey(patch, wet_ground="unknown")
    (row,) = ground.look("dormant-foliar", patch).refused
    assert row.fits == "unknown"
    assert "unknown: survey first" in row.refused.lower()


def test_herbicide_without_a_mix_is_refused_in_those_words():
    bare = ground_build(estimated=False)
    Method.objects.filter(code="dormant-foliar").update(default_mix=None)
    (row,) = bare.look("dormant-foliar", bare.wide).refused
    assert row.refused == "Dormant-season foliar spray has no mix yet."


def test_it_refuses_what_was_never_estimated():
    bare = ground_build(estimated=False)
    assert {row.refused for row in bare.look().refused} == {
        "There is no estimate of this method on the newest survey. Make one first."
    }


def test_it_refuses_where_no_window_is_open(ground):
    far = build.PatchFactory()
    wide_survey(far)
    made = ground.look("dormant-foliar", ground.wide).new[0].estimate
    build.EstimateFactory(survey=far.surveys.get(), method=made.method, rate_book=made.rate_book)
    (row,) = ground.look("dormant-foliar", far).refused
    assert "calendar has no leaf-off or leaf-out date" in row.refused


def test_it_does_not_choose_twice(ground):
    ground.choose()
    preview = ground.look()
    assert (len(preview.new), len(preview.standing)) == (0, 3)


def test_it_names_what_would_be_replaced(ground):
    ground.choose("dormant-foliar", ground.wide)
    (row,) = ground.look("spot-foliar", ground.wide, why="Late.").new
    assert [old.method.code for old in row.replaces] == ["dormant-foliar"]
    assert ground.look("spot-foliar", ground.wide, why="Late.", replace=False).new[0].replaces == ()


def test_it_leaves_what_is_on_an_order(ground):
    ground.choose("dormant-foliar", ground.wide)
    Prescription.objects.update(state="ordered")
    (row,) = ground.look("spot-foliar", ground.wide, why="Late.").refused
    assert "is on a work order here" in row.refused
    assert len(ground.look("spot-foliar", ground.wide, why="Late.", replace=False).new) == 1


def test_it_holds_the_season_after_a_replacement_against_the_rows(ground):
    ground.choose("dormant-foliar", ground.wide)
    preview = ground.look("spot-foliar", ground.wide, why="Late.")
    assert preview.after.likely_cents == preview.chosen.likely_cents
    assert preview.before.count == preview.after.count == 1


def test_it_has_the_same_fingerprint_until_something_changes(ground):
    first = ground.look()
    assert ground.look().fingerprint == first.fingerprint
    ground.choose("hand-pull", ground.pulled)
    assert ground.look().fingerprint != first.fingerprint


def test_it_lets_the_label_forbid_a_row(ground):
    mix = build.MixFactory(products=[(build.ProductFactory(), 2.0, "herbicide")])
    Method.objects.filter(code="dormant-foliar").update(default_mix=mix)
    build.PriceFactory(kind="product", code=mix.parts.get().product.code, price_e4=200_000)
    flow.estimate_patches(on=BEGIN.date(), stamp=ground.world.stamp())
    asked = []

    def word(made):
        asked.extend(made)
        return {row.pk: ["Above the yearly limit."] for row in made}

    seen = choices_preview(ground.ask(), {}, word)
    assert {row.line.patch.code: row.refused for row in seen.refused} == dict.fromkeys(
        ["H-02", "H-03"], "Above the yearly limit."
    )
    assert {row.method.code for row in asked} == {"dormant-foliar"}


def test_it_knows_no_other_method(ground):
    with pytest.raises(NotFound):
        ground.look("goats")


def test_it_asks_the_database_as_often_for_many_patches_as_for_few(ground, django_assert_max_num_queries):
    for number in range(10):
        wide_survey(build.PatchFactory(site=ground.wide.site, code=f"W-{number}"))
    patches = list(ground.wide.site.patches.all())
    with django_assert_max_num_queries(60):
        ground.look("dormant-foliar", *patches)
