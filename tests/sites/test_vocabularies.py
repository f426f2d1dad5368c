"""Growth forms, jurisdictions and checklist questions: a code, a name, once each."""

import pytest

from estimating.inputs import GROUND_KINDS
from orders.common.errors import Invalid
from orders.sites.geofiles import drafts, records
from orders.sites.models import GROUNDS, HIGHEST_UPPER_CUT_M, LOWEST_UPPER_CUT_M, GrowthForm
from orders.sites.services import checklist_question_add, growth_form_add, jurisdiction_add

pytestmark = pytest.mark.django_db


def test_it_finds_the_growth_forms_filled_in_by_the_migration():
    fruits = dict(GrowthForm.objects.values_list("code", "fruits"))
    assert fruits == {"ground cover": False, "climbing": True, "sprawling": True, "shrub": True, "herb": True}


def test_it_knows_the_same_kinds_of_ground_in_files_rows_and_estimates():
    assert tuple(code for code, _ in GROUNDS) == records.GROUND_KINDS == GROUND_KINDS


def test_it_takes_the_same_heights_of_the_upper_cut_in_files_and_rows():
    assert (drafts.LOWEST_CUT_M, drafts.HIGHEST_CUT_M) == (LOWEST_UPPER_CUT_M, HIGHEST_UPPER_CUT_M)


def test_it_adds_a_growth_form(stamp):
    assert growth_form_add(stamp=stamp, code="floating", name="Floating mat", fruits=True).public_id


def test_it_adds_a_jurisdiction_once(stamp):
    jurisdiction_add(stamp=stamp, code="IN", name="Indiana")
    with pytest.raises(Invalid) as refusal:
        jurisdiction_add(stamp=stamp, code="IN", name="Indiana")
    assert [error.field for error in refusal.value.errors] == ["code"]


def test_it_adds_a_checklist_question(stamp):
    row = checklist_question_add(stamp=stamp, code="water", question="Which streams are there?", sort=20)
    assert str(row) == "Which streams are there?"


def test_it_refuses_a_question_without_words(stamp):
    with pytest.raises(Invalid) as refusal:
        checklist_question_add(stamp=stamp, code="water", question="", sort=20)
    assert [error.field for error in refusal.value.errors] == ["question"]
