"""Patches and windows found by a few columns are those that the whole overview holds, in the same order."""

from datetime import date

import numpy as np
import pytest

from estimating.inputs import GROWTH_FORMS
from orders import flow
from orders.estimates.models import Method, RateBook
from orders.estimates.services import survey_suitability
from orders.estimates.suited import surveys_suited
from orders.planning.overview import PatchQuestion, overview
from orders.planning.patch_finder import PatchLines
from orders.planning.window_finder import WindowLines
from orders.planning.window_list import WindowQuestion, window_lines
from orders.planning.windows import SeasonWindows
from orders.sites.selectors import surveys_current
from tests import build
from tests.planning.choices import ground_build

pytestmark = pytest.mark.django_db
ON = date(2027, 1, 15)


@pytest.fixture
def season():
    """The ground of choices, and patches that differ in form, size, place and state."""
    season = ground_build().world.season
    forms = [build.GrowthFormFactory(code=code) for code in GROWTH_FORMS[:4]]
    for number, form in enumerate(forms):
        patch = build.PatchFactory(code=f"Z-{number}", name=f"Long <slope> {number}", control_state="maintenance")
        survey = build.SurveyFactory(patch=patch, gross_area_m2=9_000 + number, components=[])
        for part, cover in ((form, 0.2 * number + 0.1), (forms[-1 - number], 0.4)):
            kind = build.SpeciesFactory(code=f"KIND{number}{part.code}", resprouts=bool(number % 2))
            shares = {"cover_low": cover, "cover_likely": cover, "cover_high": cover}
            area = 300 + 900 * number
            build.SurveyComponentFactory(survey=survey, species=kind, growth_form=part, infested_area_m2=area, **shares)
    last = list(surveys_current())[-1]
    method = Method.objects.get(code="hand-pull")
    estimate = build.EstimateFactory(survey=last, method=method, rate_book=RateBook.objects.earliest("id"))
    build.PrescriptionFactory(season=season, patch=last.patch, method=method, estimate=estimate)
    return season


def told(lines):
    return [(line.patch.pk, line.leading, line.because, dict(line.recommended), line.waits) for line in lines]


def test_it_judges_what_fits_as_the_surveys_themselves_do(season):
    surveys = list(surveys_current())
    keys, found = surveys_suited(surveys_current(), {surveys[0].patch_id: 3})
    known = survey_suitability(surveys, {surveys[0].patch_id: 3})
    assert keys == tuple(survey.pk for survey in surveys)
    assert np.array_equal(found.fits, known.fits)
    assert np.array_equal(found.recommended, known.recommended)
    assert np.array_equal(found.leading, known.leading)


ASKED = (
    ("site", lambda line, site: line.patch.site.code == site),
    ("form", lambda line, form: form in line.forms),
    ("control_state", lambda line, state: line.patch.control_state == state),
    ("recommended", lambda line, code: code == line.leading or code in line.recommended),
    ("text", lambda line, text: text in f"{line.patch} {line.patch.name} {line.patch.site.name}".lower()),
    ("chosen", lambda line, word: bool(line.chosen) is (word == "yes")),
)


def values(lines, field):
    """One value that the field has, for each that narrows."""
    first, last = lines[0], lines[-1]
    return {
        "site": last.patch.site.code,
        "form": last.forms[0],
        "control_state": "maintenance",
        "recommended": first.leading or last.leading,
        "text": "<slope> 2",
        "chosen": "yes",
    }[field]


@pytest.mark.parametrize(("field", "holds"), ASKED, ids=[field for field, _ in ASKED])
def test_it_narrows_as_the_overview_would(season, field, holds):
    lines = overview(season, {}).lines
    value = values(lines, field)
    expected = [line for line in lines if holds(line, value)]
    assert 0 < len(expected) < len(lines)
    found = flow.patches_asked(question=PatchQuestion(**{field: value}), season=season, on=ON)
    assert isinstance(found, PatchLines)
    assert told(found) == told(expected)
    assert [patch.pk for patch in found.patches()] == [line.patch.pk for line in expected]


SORTS = {
    "patch": lambda line: (line.patch.site.code, line.patch.code),
    "area": lambda line: line.infested_area_m2,
    "cover": lambda line: line.cover,
    "recommended": lambda line: (line.leading, line.patch.site.code, line.patch.code),
    "control_state": lambda line: (line.patch.control_state, line.patch.site.code, line.patch.code),
}


@pytest.mark.parametrize("turn", ["", "-"])
@pytest.mark.parametrize("sort", SORTS)
def test_it_sorts_as_the_overview_would(season, sort, turn):
    expected = sorted(overview(season, {}).lines, key=SORTS[sort], reverse=bool(turn))
    found = flow.patches_asked(question=PatchQuestion(sort=f"{turn}{sort}"), season=season, on=ON)
    assert told(found) == told(expected)
    assert told(found[1:3]) == told(expected[1:3])


def shown_of(row):
    return row.place, row.is_recommended, row.chosen, row.report, row.seed


@pytest.mark.parametrize("sort", ["patch", "-patch", "method", "-method"])
@pytest.mark.parametrize("shown", ["used", "all"])
def test_it_finds_the_windows_of_the_whole_season(season, sort, shown):
    question = WindowQuestion(sort=sort, shown=shown)
    expected = window_lines(overview(season, {}), SeasonWindows(season), question)
    found = flow.windows_asked(question=question, season=season)
    assert isinstance(found, WindowLines)
    assert [shown_of(row) for row in found] == [shown_of(row) for row in expected]
    assert [row.place for row in found[2:5]] == [row.place for row in expected[2:5]]
