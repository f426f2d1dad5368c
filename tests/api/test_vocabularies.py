"""Species, growth forms and methods."""

import pytest

from tests import build

pytestmark = pytest.mark.django_db


def test_it_lists_species_with_the_source_of_their_season(lead):
    build.SpeciesFactory(code="EUFO")
    (row,) = lead.rows("/api/species?evergreen=true")
    assert (row["fruit_first_month"], row["phenology_source"]) == (9, "invented")
    assert lead.rows("/api/species?evergreen=false") == []


def test_it_tells_whether_pulled_stems_root_again(lead):
    build.SpeciesFactory(pulled_stems_reroot="yes", reroot_source="common practice")
    (row,) = lead.rows("/api/species")
    assert (row["pulled_stems_reroot"], row["reroot_source"]) == ("yes", "common practice")


def test_it_lists_growth_forms(lead):
    forms = {row["code"]: row["fruits"] for row in lead.rows("/api/growth-forms")}
    assert (forms["ground cover"], forms["climbing"], len(forms)) == (False, True, 5)


def test_it_lists_methods_with_what_they_need(lead):
    kind = build.QualificationKindFactory(code="certified-applicator")
    build.MethodFactory(code="cut-stem", uses_herbicide=True, qualification=kind, default_mix=build.MixFactory())
    build.MethodFactory(code="cut")
    plain, sprayed = lead.rows("/api/methods")
    assert (plain["qualification"], plain["mix"]) == (None, None)
    assert (sprayed["qualification"], sprayed["uses_herbicide"]) == ("certified-applicator", True)


@pytest.mark.parametrize(("query", "found"), [("uses_herbicide=true", []), ("code=cut", ["cut"])])
def test_it_filters_methods(lead, query, found):
    build.MethodFactory(code="cut")
    assert [row["code"] for row in lead.rows(f"/api/methods?{query}")] == found
