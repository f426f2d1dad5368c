from datetime import date

import pytest

from orders.sites.selectors import surveys_current
from tests import build

pytestmark = pytest.mark.django_db


def test_it_takes_the_newest_survey_of_each_patch():
    patch = build.PatchFactory()
    newest = build.SurveyFactory(patch=patch, observed_on=date(2026, 10, 2))
    build.SurveyFactory(patch=patch, observed_on=date(2025, 10, 2))
    other = build.SurveyFactory()
    assert set(surveys_current()) == {newest, other}


def test_it_takes_the_one_recorded_last_of_two_on_a_day():
    patch = build.PatchFactory()
    build.SurveyFactory(patch=patch)
    last = build.SurveyFactory(patch=patch)
    assert list(surveys_current()) == [last]


def test_it_passes_over_a_voided_survey():
    patch = build.PatchFactory()
    standing = build.SurveyFactory(patch=patch, observed_on=date(2025, 10, 2))
    build.SurveyFactory(patch=patch, observed_on=date(2026, 10, 2), voided_at=build.NOW, void_reason="Wrong file")
    assert list(surveys_current()) == [standing]


@pytest.mark.parametrize("patches", [1, 5])
def test_it_reads_all_components_in_as_many_queries_for_one_as_for_many(django_assert_num_queries, patches):
    for _ in range(patches):
        build.SurveyFactory(components=[{}, {"growth_form": build.GrowthFormFactory(code="climbing")}])
    with django_assert_num_queries(4):
        read = [
            (survey.patch.site.jurisdiction.code, part.species.code, part.growth_form.code)
            for survey in surveys_current()
            for part in survey.components.all()
        ]
    assert len(read) == 2 * patches
