"""Reads that interfaces call: one thing by its public id or a plain no; lists in a fixed order."""

from uuid import uuid4

import pytest

from orders.common.errors import NotFound
from orders.sites import selectors
from tests import build

pytestmark = pytest.mark.django_db
READS = [
    (selectors.sites, selectors.site_get, build.SiteFactory),
    (selectors.patches, selectors.patch_get, build.PatchFactory),
    (selectors.surveys, selectors.survey_get, build.SurveyFactory),
    (selectors.survey_imports, selectors.survey_import_get, build.SurveyImportFactory),
]
NAMES = ["sites", "patches", "surveys", "imports"]


@pytest.mark.parametrize(("every", "one", "factory"), READS, ids=NAMES)
def test_it_finds_a_thing_by_its_public_id(every, one, factory):
    made = factory.create_batch(2)
    assert one(made[1].public_id) == made[1]
    assert set(every()) == set(made)


@pytest.mark.parametrize(("every", "one", "factory"), READS, ids=NAMES)
def test_it_says_plainly_that_there_is_no_such_thing(every, one, factory):
    factory()
    with pytest.raises(NotFound, match="There is no such"):
        one(uuid4())


def test_it_lists_patches_by_site_and_code():
    late, early = build.SiteFactory(code="Z"), build.SiteFactory(code="A")
    for site, code in ((late, "1"), (early, "2"), (early, "1")):
        build.PatchFactory(site=site, code=code)
    assert [str(patch) for patch in selectors.patches()] == ["A 1", "A 2", "Z 1"]


def test_it_lists_imports_newest_first():
    older, newer = build.SurveyImportFactory.create_batch(2)
    assert list(selectors.survey_imports()) == [newer, older]


def test_it_lists_species_by_code():
    for code in ("LOMA", "EUFO"):
        build.SpeciesFactory(code=code)
    assert [kind.code for kind in selectors.species_all()] == ["EUFO", "LOMA"]


def test_it_lists_void_surveys_too():
    survey = build.SurveyFactory(voided_at=build.NOW, void_reason="wrong patch")
    assert selectors.survey_get(survey.public_id).void_reason == "wrong patch"


def test_it_leaves_the_file_of_a_surveys_import_alone(django_assert_num_queries):
    for _ in range(3):
        build.SurveyFactory(source=build.SurveyImportFactory())
    with django_assert_num_queries(4) as asked:
        assert {survey.source and survey.source.file_name for survey in selectors.surveys()} == {"survey.geojson"}
    assert not any("file_bytes" in query["sql"] for query in asked.captured_queries)
