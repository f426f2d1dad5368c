"""Calibration: what closed orders teach about the rates; and how good a season's estimates were."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfId
from orders.api.operations import reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.rate_books import RateBookRow
from orders.api.runs import RunOut
from orders.api.shapes import NamedRef, Out, Row
from orders.bodies.base import Body, Nothing
from orders.bodies.fields import Choice, Id, id_read
from orders.calibration.models import CalibrationRun
from orders.calibration.selectors import calibration_run_get, calibration_runs
from orders.calibration.services import calibration_ask, calibration_draft_book
from orders.common.errors import FieldError, Invalid
from orders.common.models.run import STATES
from orders.estimates.models import RateBook
from orders.planning.models import Season
from orders.planning.selectors import season_get
from orders.reports.accuracy import GROUPS, AccuracyReport, accuracy_report


class BookRef(Row):
    name = serializers.CharField()
    edition = serializers.IntegerField()


class CalibrationRunRow(RunOut):
    season = NamedRef()
    crew_kind = serializers.ChoiceField(RateBook.CREW_KINDS)
    rate_book = BookRef(allow_null=True, help_text="The book that the orders were estimated with.")
    draft = BookRef(allow_null=True)


class RatioOut(Out):
    method = serializers.CharField(help_text="Empty: all.")
    growth_form = serializers.CharField(help_text="Empty: all.")
    crew = serializers.CharField(help_text="Empty: all.")
    ratio = serializers.FloatField(help_text="Actual over estimated hours.")
    low = serializers.FloatField()
    high = serializers.FloatField()
    log_sd = serializers.FloatField()
    next_low = serializers.FloatField(help_text="One more order lies between this and next_high with the same chance.")
    next_high = serializers.FloatField()
    worth = serializers.FloatField(help_text="Orders, each by its share of hours.")
    orders = serializers.ListField(child=serializers.CharField(), help_text="Numbers of the work orders behind it.")
    enough = serializers.BooleanField()
    reason = serializers.CharField(help_text="Why the evidence is not enough.")


class WeighedOut(Out):
    order = serializers.CharField()
    ratio = serializers.FloatField()
    weight = serializers.FloatField()
    wild = serializers.BooleanField()


class SpreadsOut(Out):
    methods = serializers.FloatField()
    forms = serializers.FloatField()
    crews = serializers.FloatField()
    order = serializers.FloatField()
    next_order = serializers.FloatField()


class ResultOut(Out):
    level = serializers.FloatField(help_text="Chance of all intervals.")
    enough = serializers.BooleanField()
    because = serializers.CharField()
    overall = RatioOut(allow_null=True)
    methods = RatioOut(many=True)
    forms = RatioOut(many=True)
    crews = RatioOut(many=True)
    weights = WeighedOut(many=True)
    spreads = SpreadsOut(allow_null=True)
    own_spread_factor = serializers.FloatField()


class PartOut(Out):
    method = serializers.CharField()
    growth_form = serializers.CharField()
    share = serializers.FloatField()


class EvidenceOut(Out):
    order = serializers.CharField()
    order_id = serializers.UUIDField()
    site = serializers.CharField()
    crew = serializers.CharField()
    work_date = serializers.DateField()
    recorded_paid_hours = serializers.FloatField()
    estimated_paid_hours = serializers.FloatField()
    estimated_hours = serializers.FloatField()
    low_hours = serializers.FloatField()
    high_hours = serializers.FloatField()
    actual_hours = serializers.FloatField()
    treated_area_m2 = serializers.FloatField()
    parts = PartOut(many=True)


class LeftOutOut(Out):
    order = serializers.CharField()
    order_id = serializers.UUIDField()
    because = serializers.CharField()


class CalibrationRunOut(CalibrationRunRow):
    result = ResultOut(allow_null=True)
    evidence = EvidenceOut(many=True)
    left_out = LeftOutOut(many=True)


class CalibrationRunIn(Body):
    id = Id(required=False)
    season = Id()
    crew_kind = Choice(RateBook.CREW_KINDS, default="staff")


class CalibrationRunFilter(Filters):
    season = OfId(field_name="season__public_id")
    state = AnyOf(words=STATES)


class CalibrationRuns(ListEndpoint):
    endpoint = "calibration-runs"
    row = CalibrationRunRow
    filters = CalibrationRunFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[CalibrationRun]:
        """Calibrations asked for, the newest first."""
        return calibration_runs().defer("evidence", "left_out", "result")

    @writes(CalibrationRunRow, body=CalibrationRunIn, status=202, names_others=True, located_at="calibration-run")
    def post(self) -> CalibrationRun:
        """Ask for a look at a season's closed orders; a worker takes it in the background."""
        season, named = season_get(self.body["season"]), self.body.get("id")
        kind = self.body["crew_kind"]
        return calibration_ask(season=season, crew_kind=kind, public_id=named, stamp=self.stamp())


class CalibrationRunOne(Endpoint):
    endpoint = "calibration-run"

    @shows(CalibrationRunOut)
    def get(self, run_id: Any) -> CalibrationRun:
        """One calibration: ratios with their intervals, the orders behind them and what was left out."""
        return calibration_run_get(run_id)


class CalibrationRunDraft(Endpoint):
    endpoint = "calibration-run-draft"

    @writes(RateBookRow, body=Nothing, located_at="rate-book")
    def post(self, run_id: Any) -> RateBook:
        """Draft the next edition of the rate book from it. Rates without enough evidence stay as they are."""
        return calibration_draft_book(run=calibration_run_get(run_id), stamp=self.stamp())


class AccuracyOut(Out):
    name = serializers.CharField()
    orders = serializers.IntegerField()
    estimated_hours = serializers.FloatField()
    actual_hours = serializers.FloatField()
    bias = serializers.FloatField(help_text="Geometric mean of actual over estimated hours.")
    bias_low = serializers.FloatField(allow_null=True)
    bias_high = serializers.FloatField(allow_null=True)
    log_spread = serializers.FloatField(allow_null=True)
    rmse_hours_per_ha = serializers.FloatField(allow_null=True)
    inside = serializers.IntegerField(help_text="Orders whose hours fell within low and high.")
    inside_share = serializers.FloatField()
    inside_low = serializers.FloatField()
    inside_high = serializers.FloatField()
    promise_kept = serializers.BooleanField(help_text="The promised 80% lies within inside_low and inside_high.")


class AccuracyReportOut(Out):
    season = NamedRef()
    by = serializers.CharField()
    heading = serializers.CharField()
    overall = AccuracyOut(allow_null=True)
    rows = AccuracyOut(many=True)
    orders = EvidenceOut(many=True)
    left_out = LeftOutOut(many=True)


QUERIES = (
    ("season", {"type": "string", "format": "uuid"}, "Closed orders of this season; it must be given."),
    ("by", {"type": "string", "enum": list(GROUPS), "default": "method"}, "What the report is cut by."),
)


class AccuracyReports(Endpoint):
    endpoint = "report-accuracy"

    @reports(AccuracyReportOut, queries=QUERIES, names_others=True)
    def get(self) -> AccuracyReport:
        """How good a season's estimates were: bias, spread, and how often actual hours fell inside low and high."""
        queries_check(self.request, {name for name, _, _ in QUERIES})
        query = self.request.query_params
        return accuracy_report(actor=self.actor, season=_season(query.get("season")), by=query.get("by", "method"))


def _season(named: str | None) -> Season:
    try:
        return season_get(id_read(named or ""))
    except ValueError as error:
        errors = [FieldError("season", str(error))]
        raise Invalid("The report cannot be asked for that way.", errors) from error
