"""What it cost: the ledger, and the reports made of it. Finance's alone."""

import re
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from orders import flow
from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfId, OfWord, OnDay
from orders.api.operations import reports
from orders.api.paging import ListEndpoint
from orders.api.renderers import CsvRenderer
from orders.api.shapes import NamedRef, Out, Row
from orders.bodies.fields import id_read
from orders.common.errors import FieldError, Invalid
from orders.costs.selectors import ledger
from orders.costs.words import BOOK_WORDS, CATEGORY_WORDS
from orders.planning.models import Season
from orders.planning.selectors import season_get
from orders.reports.costs import CUTS, CostReport, cost_report_csv

PLACE = r"[0-9]{1,18}"


class LedgerOut(Row):
    number = serializers.IntegerField(source="pk", help_text="In the ledger; give the last one as `since`.")
    book = serializers.ChoiceField(BOOK_WORDS, help_text="Costs alone are what reports of cost sum.")
    debit = serializers.CharField(help_text="The account that the amount goes to,")
    credit = serializers.CharField(help_text="and the one that it comes from.")
    category = serializers.CharField()
    amount_cents = serializers.IntegerField()
    work_code = serializers.CharField(help_text="Of paid time that is no order.")
    order = serializers.UUIDField(source="order.public_id", allow_null=True)
    order_number = serializers.IntegerField(allow_null=True)
    site = serializers.CharField(source="site_code")
    patch = serializers.CharField(source="patch_code")
    species = serializers.CharField(source="species_code")
    method = serializers.CharField(source="method_code")
    crew = serializers.CharField(source="crew_name")
    fund = serializers.CharField(source="fund.code")
    award = serializers.CharField(source="award.code", allow_null=True)
    person = NamedRef(allow_null=True)
    person_type = serializers.CharField()
    quantity = serializers.IntegerField(help_text="Minutes, microliters, milligrams or tenths of a mile; signed.")
    unit = serializers.CharField()
    rate_e4 = serializers.IntegerField(help_text="1/10,000 dollars an hour, liter, kilogram or mile.")
    rate_origin = serializers.CharField()
    work_date = serializers.DateField()
    posting_month = serializers.DateField()
    posted_at = serializers.DateTimeField()
    source_kind = serializers.CharField()
    source_id = serializers.UUIDField()
    revision = serializers.IntegerField()
    reverses = serializers.UUIDField(source="reverses.public_id", allow_null=True)
    reason = serializers.CharField()


class SincePlace(OfWord):
    """Rows after a place in the ledger."""

    def read(self, text: str) -> str:
        if not re.fullmatch(PLACE, text, re.ASCII):
            raise ValueError("must be the number of a ledger row, or 0")
        return text

    def schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": 0, "maximum": 10**18 - 1}


class LedgerFilter(Filters):
    since = SincePlace(field_name="id", lookup_expr="gt", help_text="Rows after this number, in their order.")
    book = AnyOf(words=BOOK_WORDS)
    order = OfId(field_name="order__public_id")
    season = OfId(field_name="order__season__public_id")
    site = OfWord(field_name="site_code")
    fund = OfWord(field_name="fund__code")
    category = AnyOf(words=CATEGORY_WORDS)
    worked_from = OnDay(field_name="work_date", lookup_expr="gte")
    worked_to = OnDay(field_name="work_date", lookup_expr="lte")
    posted_from = OnDay(field_name="posting_month", lookup_expr="gte", help_text="First day of a month.")
    posted_to = OnDay(field_name="posting_month", lookup_expr="lte", help_text="First day of a month.")


class Ledger(ListEndpoint):
    endpoint = "ledger"
    row = LedgerOut
    from_columns = True
    filters = LedgerFilter
    sorts = {"id": "id", "work_date": "work_date", "amount_cents": "amount_cents"}

    def rows(self) -> QuerySet[Any]:
        """What was posted, in its order. A correction is a new row that reverses an old one.

        Another system that keeps up with the ledger asks with a token of the finance role: `since` is the number of the
        last row that it has, `next` leads through the pages, and no row ever appears before one that was read, since
        rows are committed in the order of their numbers. The token is used for nothing but GET there: whoever holds it
        could post what its roles open."""
        return ledger(self.actor).select_related("reverses")


class CostRowOut(Out):
    key = serializers.CharField()
    planned_cents = serializers.IntegerField()
    actual_cents = serializers.IntegerField()
    difference_cents = serializers.IntegerField()
    planned_minutes = serializers.IntegerField()
    actual_minutes = serializers.IntegerField()


class CostReportOut(Out):
    by = serializers.CharField()
    heading = serializers.CharField()
    rows = CostRowOut(many=True)
    total = CostRowOut()


FORMATS = ("json", "csv")
QUERIES = (
    ("by", {"type": "string", "enum": list(CUTS), "default": "order"}, "What the report is cut by."),
    ("season", {"type": "string", "format": "uuid"}, "Orders of one season."),
    ("format", {"type": "string", "enum": list(FORMATS)}, "Else as the Accept header says."),
)


class CostsReport(Endpoint):
    endpoint = "report-costs"
    renderer_classes = (JSONRenderer, CsvRenderer)

    @reports(CostReportOut, queries=QUERIES, names_others=True, also_csv=True)
    def get(self) -> Response | CostReport:
        """Planned against actual cost, cut by one dimension; the total is the same whichever way."""
        queries_check(self.request, {name for name, _, _ in QUERIES})
        query = self.request.query_params
        _word_check("by", query.get("by", "order"), tuple(CUTS))
        _word_check("format", query.get("format", "json"), FORMATS)
        report = flow.report_costs(actor=self.actor, by=query.get("by", "order"), season=_season(query.get("season")))
        if isinstance(self.request.accepted_renderer, CsvRenderer):
            return _table(report)
        return report


def _table(report: CostReport) -> Response:
    named = {"Content-Disposition": f'attachment; filename="costs-by-{report.by}.csv"'}
    media_type = "text/csv; charset=utf-8; header=present"
    return Response(cost_report_csv(report), content_type=media_type, headers=named)


def _word_check(name: str, word: str, words: tuple[str, ...]) -> None:
    if word not in words:
        errors = [FieldError(name, f"must be one of {', '.join(words)}")]
        raise Invalid("The report cannot be asked for that way.", errors)


def _season(named: str | None) -> Season | None:
    if named is None:
        return None
    try:
        return season_get(id_read(named))
    except ValueError as error:
        errors = [FieldError("season", str(error))]
        raise Invalid("The report cannot be asked for that way.", errors) from error
