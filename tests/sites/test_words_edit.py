"""Jurisdictions, growth forms and questions of the checklist, changed by the mark of what was read."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.common.rows import row_mark
from orders.sites.models import ChecklistQuestion, GrowthForm
from orders.sites.services import (
    QuestionAnswered,
    checklist_question_edit,
    checklist_question_remove,
    growth_form_edit,
    jurisdiction_edit,
)
from tests import build

pytestmark = pytest.mark.django_db


def test_it_renames_a_jurisdiction_and_records_it(stamp):
    row = build.JurisdictionFactory(code="IN", name="Indana")
    jurisdiction_edit(jurisdiction=row, name="Indiana", read=row_mark(row), stamp=stamp)
    row.refresh_from_db()
    told = Change.objects.get(verb="jurisdiction_edit")
    assert (row.name, told.before, told.after) == ("Indiana", {"name": "Indana"}, {"name": "Indiana"})


def test_it_refuses_an_edit_of_what_somebody_else_changed(stamp):
    row = build.JurisdictionFactory(code="IN", name="Indana")
    read = row_mark(row)
    jurisdiction_edit(jurisdiction=row, name="Indiana", read=read, stamp=stamp)
    with pytest.raises(VersionMismatch):
        jurisdiction_edit(jurisdiction=row, name="Hoosiers", read=read, stamp=stamp)


def test_it_changes_what_a_growth_form_is_called_and_nothing_else(stamp):
    row = GrowthForm.objects.get(code="shrub")
    growth_form_edit(growth_form=row, name="Bush", read=row_mark(row), stamp=stamp)
    row.refresh_from_db()
    assert (row.name, row.code, row.fruits) == ("Bush", "shrub", True)


def test_it_says_a_question_better(stamp):
    row = build.ChecklistQuestionFactory()
    checklist_question_edit(question=row, text="Who was told?", sort=3, read=row_mark(row), stamp=stamp)
    row.refresh_from_db()
    assert (row.question, row.sort) == ("Who was told?", 3)


def test_it_refuses_a_question_without_words(stamp):
    row = build.ChecklistQuestionFactory()
    with pytest.raises(Invalid) as refusal:
        checklist_question_edit(question=row, text="", sort=3, read=None, stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["question"]


def test_it_takes_out_a_question_that_nobody_answered(stamp):
    row = build.ChecklistQuestionFactory()
    checklist_question_remove(question=row, read=None, stamp=stamp)
    assert not ChecklistQuestion.objects.exists()
    assert (Change.objects.get(verb="checklist_question_remove").before or {})["question"] == row.question


def test_it_keeps_a_question_that_was_answered(stamp):
    answer = build.ChecklistAnswerFactory()
    with pytest.raises(QuestionAnswered):
        checklist_question_remove(question=answer.question, read=None, stamp=stamp)
    assert ChecklistQuestion.objects.count() == 1
