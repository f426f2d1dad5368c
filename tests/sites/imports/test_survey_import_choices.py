"""A dry run reports and writes nothing; with the good rows asked for, the bad ones stay out."""

import pytest

from orders.common.models.run import DONE
from orders.sites.models import Survey
from tests import build
from tests.sites.imports.handed import OTHER_PLACE, bring, features, held, noted, row, told

pytestmark = pytest.mark.django_db
GOOD_AND_BAD = features(row(), row(patch_code="P2", cover_percent=101, geometry=OTHER_PLACE))


def test_it_writes_nothing_in_a_dry_run(mill):
    before = held()
    imported = bring(dry_run=True)
    assert (imported.state, imported.refused) == (DONE, False)
    assert (imported.rows_read, imported.rows_added, imported.surveys_added, imported.patches_added) == (1, 1, 1, 1)
    assert held() == before


def test_it_says_in_a_dry_run_what_would_be_refused(mill):
    bring()
    before = held()
    imported = bring(features(row(cover_percent=12)), dry_run=True)
    assert (imported.refused, told(imported)) == (True, [(1, "observed_on", "survey_exists")])
    assert held() == before


def test_it_says_in_a_dry_run_what_is_known(mill):
    bring()
    assert bring(dry_run=True).rows_known == 1


def test_it_takes_the_good_rows_where_they_are_asked_for(mill):
    imported = bring(GOOD_AND_BAD, keep_good_rows=True)
    assert (imported.refused, imported.rows_read, imported.rows_added) == (False, 2, 1)
    assert told(imported) == [(2, "cover_percent", "cover_out_of_range")]
    assert Survey.objects.get().patch.code == "P1"


def test_it_refuses_where_no_row_is_good(mill):
    before = held()
    imported = bring(features(row(cover_percent=101)), keep_good_rows=True)
    assert (imported.refused, imported.rows_added) == (True, 0)
    assert held() == before


def test_it_keeps_known_rows_beside_bad_ones(mill):
    bring()
    imported = bring(GOOD_AND_BAD, keep_good_rows=True)
    assert (imported.refused, imported.rows_known, imported.rows_added) == (False, 1, 0)


def test_it_keeps_out_the_row_that_another_survey_contradicts(mill):
    bring()
    imported = bring(features(row(cover_percent=9), row(patch_code="P2", geometry=OTHER_PLACE)), keep_good_rows=True)
    assert (told(imported), imported.rows_added) == ([(1, "observed_on", "survey_exists")], 1)
    assert Survey.objects.get(patch__code="P1").components.get().cover_likely == 0.4


def test_it_accounts_for_good_rows_that_stay_out_with_a_bad_one(mill):
    together = features(
        row(), row(species="LOMA", growth_form="shrub", cover_percent=101), row(patch_code="P2", geometry=OTHER_PLACE)
    )
    imported = bring(together, keep_good_rows=True)
    assert told(imported) == [(2, "cover_percent", "cover_out_of_range")]
    assert noted(imported) == [(1, "row", "left_out_with_others")]
    assert Survey.objects.get().patch.code == "P2"


def test_it_writes_nothing_in_a_dry_run_that_keeps_good_rows(mill):
    build.PatchFactory(site=mill, code="P9")
    before = held()
    imported = bring(GOOD_AND_BAD, keep_good_rows=True, dry_run=True)
    assert (imported.refused, imported.rows_added) == (False, 1)
    assert held() == before
