"""Jurisdictions, growth forms and the questions of the checklist: the words that sites and surveys are told in."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row
from orders.api.vocabularies import GrowthFormOut
from orders.bodies.places import GrowthFormEdit, JurisdictionEdit, JurisdictionIn, QuestionEdit, QuestionIn
from orders.common.rows import row_mark
from orders.sites.models import ChecklistQuestion, GrowthForm, Jurisdiction
from orders.sites.services import (
    checklist_question_add,
    checklist_question_edit,
    checklist_question_remove,
    growth_form_edit,
    jurisdiction_add,
    jurisdiction_edit,
)
from orders.sites.setting_up import (
    growth_form_get,
    jurisdiction_get,
    jurisdictions_known,
    question_get,
    questions_known,
)


class JurisdictionOut(Row):
    code = serializers.CharField()
    name = serializers.CharField()
    is_active = serializers.BooleanField(help_text="Whether it is offered for anything new.")


class JurisdictionFilter(Filters):
    code = OfWord()
    is_active = YesNo()


class Jurisdictions(ListEndpoint):
    endpoint = "jurisdictions"
    row = JurisdictionOut
    filters = JurisdictionFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Jurisdiction]:
        """Whose rules sites lie under; labels name by these codes where a product is registered."""
        return jurisdictions_known()

    @writes(JurisdictionOut, body=JurisdictionIn, located_at="jurisdiction")
    def post(self) -> Jurisdiction:
        """Add one. Its code stays for good."""
        return jurisdiction_get(jurisdiction_add(stamp=self.stamp(), **self.body).public_id)


class JurisdictionOne(Endpoint):
    endpoint = "jurisdiction"

    @shows(JurisdictionOut)
    def get(self, jurisdiction_id: Any) -> Jurisdiction:
        """One jurisdiction."""
        return jurisdiction_get(jurisdiction_id)

    @edits(JurisdictionOut, body=JurisdictionEdit)
    def patch(self, jurisdiction_id: Any) -> Jurisdiction:
        """Change its name, or take it out of use; refused while sites lie in it."""
        row = jurisdiction_get(jurisdiction_id)
        self.current_check(row)
        return jurisdiction_edit(jurisdiction=row, read=row_mark(row), stamp=self.stamp(), **self.body)


class GrowthFormOne(Endpoint):
    endpoint = "growth-form"

    @shows(GrowthFormOut)
    def get(self, form_id: Any) -> GrowthForm:
        """One growth form."""
        return growth_form_get(form_id)

    @edits(GrowthFormOut, body=GrowthFormEdit)
    def patch(self, form_id: Any) -> GrowthForm:
        """Change what it is called."""
        row = growth_form_get(form_id)
        self.current_check(row)
        return growth_form_edit(growth_form=row, read=row_mark(row), stamp=self.stamp(), **self.body)


class ChecklistQuestionOut(Row):
    code = serializers.CharField()
    text = serializers.CharField(source="question")
    sort = serializers.IntegerField(help_text="Smaller is asked earlier.")
    is_active = serializers.BooleanField(help_text="Whether it is asked.")
    sites = serializers.IntegerField(source="site_count", help_text="At how many sites it was answered.")


class ChecklistQuestions(ListEndpoint):
    endpoint = "checklist-questions"
    row = ChecklistQuestionOut
    sorts = {"sort": "sort", "code": "code"}
    usual_sort = "sort"

    def rows(self) -> QuerySet[ChecklistQuestion]:
        """What must be answered for a site before an order is issued there."""
        return questions_known()

    @writes(ChecklistQuestionOut, body=QuestionIn, located_at="checklist-question")
    def post(self) -> ChecklistQuestion:
        """Add a question. It is open at every site from then on."""
        told = {"code": self.body["code"], "question": self.body["text"], "sort": self.body["sort"]}
        return question_get(checklist_question_add(stamp=self.stamp(), **told).public_id)


class ChecklistQuestionOne(Endpoint):
    endpoint = "checklist-question"

    @shows(ChecklistQuestionOut)
    def get(self, question_id: Any) -> ChecklistQuestion:
        """One question."""
        return question_get(question_id)

    @edits(ChecklistQuestionOut, body=QuestionEdit)
    def put(self, question_id: Any) -> ChecklistQuestion:
        """Say it better, or ask it earlier or later."""
        row = question_get(question_id)
        self.current_check(row)
        checklist_question_edit(question=row, read=row_mark(row), stamp=self.stamp(), **self.body)
        return question_get(question_id)


class Removed(Out):
    id = serializers.UUIDField()


class ChecklistQuestionRemove(Endpoint):
    endpoint = "checklist-question-remove"

    @writes(Removed, status=200, has_etag=False)
    def post(self, question_id: Any) -> dict[str, Any]:
        """Take out a question that was never answered."""
        row = question_get(question_id)
        checklist_question_remove(question=row, read=row_mark(row), stamp=self.stamp())
        return {"id": question_id}
