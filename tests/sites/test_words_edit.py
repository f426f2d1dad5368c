"""Jurisdictions, growth forms and questions of the checklist, changed by the mark of what was read."""

import pytest

from orders.common.errors import Invalid, VersionMismatch
from orders.common.models import Change
from orders.common.rows import row_mark
from orders.common.use import StillNeeded
from orders.sites.models import ChecklistQuestion, GrowthForm
from orders.sites.selectors import jurisdictions_offered
from orders.sites.services import (
    QuestionAnswered,
    checklist_question_edit,
    checklist_question_remove,
    growth_form_edit,
    jurisdiction_activate,
    jurisdiction_deactivate,
    jurisdiction_edit,
    site_add,
    site_edit,
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


def test_a_jurisdiction_goes_out_of_use_and_comes_back(stamp):
    row = build.JurisdictionFactory(code="IN", name="Indiana")
    jurisdiction_deactivate(jurisdiction=row, read=None, stamp=stamp)
    assert row not in jurisdictions_offered()
    assert jurisdiction_activate(jurisdiction=row, read=None, stamp=stamp) in jurisdictions_offered()
    verbs = list(Change.objects.order_by("id").values_list("verb", flat=True))
    assert verbs == ["jurisdiction_deactivate", "jurisdiction_activate"]


def test_a_jurisdiction_stays_while_sites_lie_in_it_and_they_are_named(stamp):
    site = build.SiteFactory(name="Hollow")
    asked = {"jurisdiction": site.jurisdiction, "read": None, "stamp": stamp}
    with pytest.raises(StillNeeded) as refused:
        jurisdiction_deactivate(**asked)
    assert [error.message for error in refused.value.errors] == ["Hollow"]
    with pytest.raises(StillNeeded):
        jurisdiction_edit(name="Other", is_active=False, **asked)
    site.jurisdiction.refresh_from_db()
    assert (site.jurisdiction.is_active, site.jurisdiction.name != "Other") == (True, True)


def test_no_site_is_put_into_one_that_is_out_of_use(stamp):
    gone, site = build.JurisdictionFactory(code="OH", name="Ohio", is_active=False), build.SiteFactory()
    with pytest.raises(Invalid) as refused:
        site_edit(site=site, values={"jurisdiction": gone}, expected=site.version, stamp=stamp)
    assert [(error.field, error.message) for error in refused.value.errors] == [
        ("jurisdiction", "Ohio is no longer in use.")
    ]
    facts = {name: getattr(site, name) for name in ("name", "time_zone", "boundary", "drive_minutes", "drive_miles")}
    with pytest.raises(Invalid) as refused:
        site_add(code="NEW", jurisdiction=gone, stamp=stamp, **facts)
    assert [error.field for error in refused.value.errors] == ["jurisdiction"]
