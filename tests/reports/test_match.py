"""In-kind work by award: given, required, and still to earn."""

from datetime import date

import pytest

from orders.costs.models import AwardTerm
from orders.reports.catalog import report_table
from tests import build

pytestmark = pytest.mark.django_db
GIVEN = {"book": "match", "debit": "match-used", "credit": "match-given", "person_type": "volunteer"}


@pytest.fixture
def finance():
    return build.UserFactory(roles=["finance"])


@pytest.fixture
def award():
    made = build.AwardFactory(code="CREEK")
    term = {"award": made, "from_day": date(2026, 1, 1), "ruleset": "own", "match_cents": 50_000, "source": "invented"}
    AwardTerm.objects.create(**term)
    build.LedgerEntryFactory(**GIVEN, fund=made.fund, award=made, amount_cents=12_000, quantity=360)
    build.LedgerEntryFactory(fund=made.fund, award=made, amount_cents=77_000)
    return made


def test_it_tells_what_is_still_to_be_earned(finance, award):
    assert list(report_table(finance, "match", {}).rows) == [("CREEK", 360, 12_000, 50_000, 38_000)]


@pytest.mark.parametrize(("by", "key"), [("person_type", "Volunteer"), ("month", "2027-02")])
def test_it_is_cut_by_kind_of_person_and_month(finance, award, by, key):
    assert list(report_table(finance, "match", {"by": by}).rows) == [("CREEK", key, 360, 12_000)]


def test_it_leaves_out_awards_that_ask_for_none_and_were_given_none(finance):
    build.AwardFactory()
    assert list(report_table(finance, "match", {}).rows) == []
