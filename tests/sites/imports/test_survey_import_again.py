"""The same rows read again are known; nothing is doubled, whatever the order of things."""

import pytest

from orders.sites import runs
from orders.sites.models import Survey
from tests import build
from tests.sites.imports.handed import OTHER_PLACE, bring, features, held, row, told

pytestmark = pytest.mark.django_db


def test_it_does_not_double_what_it_reads_again(mill):
    bring()
    before = held()
    again = bring()
    assert (again.refused, again.rows_known, again.rows_added, again.surveys_added) == (False, 1, 0, 0)
    assert held() == before


def test_it_adds_only_the_new_rows_of_a_file_that_grew(mill):
    bring()
    again = bring(features(row(), row(patch_code="P2", geometry=OTHER_PLACE)))
    assert (again.rows_known, again.rows_added) == (1, 1)
    assert Survey.objects.count() == 2


def test_it_takes_a_later_survey_of_the_same_patch(mill):
    bring()
    later = bring(features(row(observed_on="2026-06-01", cover_percent=20)))
    assert (later.rows_added, later.patches_added) == (1, 0)


def test_it_knows_a_row_whatever_its_place_in_the_file(mill):
    first, second = row(), row(patch_code="P2", geometry=OTHER_PLACE)
    bring(features(first, second))
    assert bring(features(second, first)).rows_known == 2


@pytest.fixture
def meanwhile(monkeypatch, settings):
    """`meanwhile(action)`: the action happens while the next import has read its file and is about to write."""
    settings.REDIS_URL = "redis://unused"  # with a broker, imports run side by side
    prepared = runs._prepared

    def between(action):
        def prepared_and_then(worker, checked, stamp):
            monkeypatch.setattr(runs, "_prepared", prepared)
            rows = prepared(worker, checked, stamp)
            action()
            return rows

        monkeypatch.setattr(runs, "_prepared", prepared_and_then)

    return between


def test_it_stores_a_file_once_that_is_handed_in_twice_at_the_same_time(mill, meanwhile):
    others = []
    meanwhile(lambda: others.append(bring()))
    imported = bring()
    assert [(each.rows_added, each.rows_known) for each in (others[0], imported)] == [(1, 0), (0, 1)]
    assert Survey.objects.count() == 1


def test_it_refuses_the_slower_of_two_files_that_disagree(mill, meanwhile):
    meanwhile(lambda: bring(features(row(cover_percent=10))))
    assert told(bring()) == [(1, "observed_on", "survey_exists")]


def test_it_takes_a_row_again_whose_survey_was_voided(mill):
    bring()
    Survey.objects.update(voided_at=build.NOW, void_reason="wrong patch")
    assert bring().rows_added == 1
    assert Survey.objects.filter(voided_at__isnull=True).count() == 1
