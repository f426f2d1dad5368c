"""Budgets, and what is left to spend. Finance's alone."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.funds import FundRef
from orders.api.operations import Queries, edits, reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.renderers import CsvRenderer
from orders.api.shapes import Out, SiteRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Cents, Choice, Day, Id, Text
from orders.common.errors import FieldError, Invalid
from orders.costs.budget_csv import budgets_csv, budgets_read
from orders.costs.fund_selectors import CATEGORY_NAMES, budget_get, budgets
from orders.costs.selectors import award_get, fund_get
from orders.costs.services.budgets import budget_add, budget_edit, budget_remove, budgets_load
from orders.costs.spending import left_to_spend
from orders.sites.selectors import site_get

CSV_CHARACTERS = 1_000_000
WORDS = list(CATEGORY_NAMES)
CSV_QUERIES: Queries = (("format", {"type": "string", "enum": ["json", "csv"]}, "Else as the Accept header says."),)


class BudgetOut(VersionedRow):
    fund = FundRef()
    award = FundRef(allow_null=True)
    site = SiteRef(allow_null=True)
    category = serializers.CharField(help_text="Empty: all of them.")
    month = serializers.DateField(allow_null=True, help_text="First day of a posting month; none: all of them.")
    amount_cents = serializers.IntegerField()
    note = serializers.CharField()


class BudgetEdit(Body):
    award = Id(required=False, allow_null=True)
    site = Id(required=False, allow_null=True)
    category = Choice(WORDS, required=False, allow_blank=True)
    month = Day(required=False, allow_null=True)
    amount_cents = Cents(required=False)
    note = Text(max_length=200, required=False, allow_blank=True)


class BudgetIn(BudgetEdit):
    fund = Id()
    amount_cents = Cents()


class BudgetFilter(Filters):
    fund = OfId(field_name="fund__public_id")
    award = OfId(field_name="award__public_id")
    category = AnyOf(words=CATEGORY_NAMES.items())
    month = OnDay()


class _Budget(Endpoint):
    def told(self) -> dict[str, Any]:
        """The body with its rows looked up."""
        readers = {"fund": fund_get, "award": award_get, "site": site_get}
        return {name: readers[name](value) if value and name in readers else value for name, value in self.body.items()}


class Budgets(ListEndpoint, _Budget):
    endpoint = "budgets"
    row = BudgetOut
    filters = BudgetFilter
    sorts = {"id": "id", "amount_cents": "amount_cents"}

    def rows(self) -> QuerySet[Any]:
        """What may be spent of a fund or award, in all, on a site, of a category, in a month."""
        return budgets(self.actor)

    @writes(BudgetOut, body=BudgetIn, names_others=True, located_at="budget")
    def post(self) -> Any:
        """Add a budget; an empty field means all of them."""
        return budget_add(stamp=self.stamp(), **self.told())


class BudgetOne(_Budget):
    endpoint = "budget"

    @shows(BudgetOut)
    def get(self, budget_id: Any) -> Any:
        """One budget."""
        return budget_get(self.actor, budget_id)

    @edits(BudgetOut, body=BudgetEdit, names_others=True)
    def patch(self, budget_id: Any) -> Any:
        """Change what may be spent, or what of it."""
        budget = budget_get(self.actor, budget_id)
        expected = self.version_named(budget)
        return budget_edit(budget=budget, values=self.told(), expected=expected, stamp=self.stamp())


class BudgetRemove(Endpoint):
    endpoint = "budget-remove"

    @writes(BudgetOut, body=Because, status=200)
    def post(self, budget_id: Any) -> Any:
        """Take it away, with the reason; the reply shows what it was."""
        budget = budget_get(self.actor, budget_id)
        budget_remove(budget=budget, expected=budget.version, stamp=self.stamp(self.body["reason"]))
        return budget


class BudgetsCsvIn(Body):
    csv = Text(max_length=CSV_CHARACTERS, help_text="Columns fund, award, site, category, month, amount, note.")


class BudgetsCsvOut(Out):
    csv = serializers.CharField()


class BudgetsLoadedOut(Out):
    loaded = serializers.IntegerField(help_text="Rows of the file: added, changed, or as they were.")


class BudgetsCsv(Endpoint):
    endpoint = "budgets-csv"
    renderer_classes = (JSONRenderer, CsvRenderer)

    @reports(BudgetsCsvOut, queries=CSV_QUERIES, also_csv=True)
    def get(self) -> Response | dict[str, str]:
        """All budgets as CSV, with codes for funds, awards and sites and dollars for amounts."""
        queries_check(self.request, {"format"})
        if self.request.query_params.get("format", "csv") not in ("json", "csv"):
            raise Invalid("The budgets cannot be had that way.", [FieldError("format", "must be json or csv")])
        text = budgets_csv(budgets(self.actor))
        if not isinstance(self.request.accepted_renderer, CsvRenderer):
            return {"csv": text}
        named = {"Content-Disposition": 'attachment; filename="budgets.csv"'}
        return Response(text, content_type="text/csv; charset=utf-8; header=present", headers=named)

    @writes(BudgetsLoadedOut, body=BudgetsCsvIn, status=200)
    def post(self) -> dict[str, int]:
        """Add or change the budgets that it names, all or none; the others stay."""
        return {"loaded": len(budgets_load(lines=budgets_read(self.body["csv"]), stamp=self.stamp()))}


class SpendingRowOut(Out):
    kind = serializers.ChoiceField(["fund", "award", "budget"])
    name = serializers.CharField()
    fund = serializers.CharField(source="fund.code")
    award = serializers.CharField(source="award.code", allow_null=True)
    limit_cents = serializers.IntegerField(allow_null=True, help_text="Budget or ceiling; none: nothing limits it.")
    actual_cents = serializers.IntegerField()
    committed_cents = serializers.IntegerField(help_text="Of open orders and purchases.")
    left_cents = serializers.IntegerField(allow_null=True)


class SpendingOut(Out):
    rows = SpendingRowOut(many=True)


class Spending(Endpoint):
    endpoint = "spending"

    @reports(SpendingOut, queries=())
    def get(self) -> dict[str, Any]:
        """What is left of each fund, award and budget: limit less spent less committed."""
        queries_check(self.request, set())
        return {"rows": left_to_spend(self.actor)}
