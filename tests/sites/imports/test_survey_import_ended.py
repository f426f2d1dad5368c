"""Rows of a patch in whose place others stand."""

from datetime import date

import pytest

from orders.sites.models import Survey
from tests import build
from tests.sites.imports.handed import bring, features, row, told

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(("day", "errors"), [("2026-05-01", [(1, "patch_code", "patch_ended")]), ("2026-03-01", [])])
def test_what_was_seen_before_it_ended_is_taken_and_nothing_later(mill, day, errors):
    build.PatchFactory(site=mill, code="P1", ended_on=date(2026, 4, 1))
    assert told(bring(features(row(patch_code="P1", observed_on=day)))) == errors
    assert Survey.objects.count() == 1 - len(errors)
