"""Pay periods: the hours that go to payroll, the file that went, and what payroll cost beside it. Finance only."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.operations import plain, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.parsers import FileFormParser
from orders.api.shapes import NamedRef, Out, Row, UserRef, VersionedRow
from orders.bodies.base import Body
from orders.bodies.fields import Day, Id, Whole
from orders.costs.payroll_csv import payroll_file_name
from orders.costs.payroll_selectors import (
    STATES,
    changes_waiting,
    pay_period_get,
    pay_periods,
    payroll_file,
    payroll_hours,
    payroll_import_get,
    payroll_imports_all,
    period_problems,
    reconciliation,
)
from orders.costs.services.effort import effort_make_all
from orders.costs.services.payroll import pay_period_open, payroll_export
from orders.costs.services.payroll_import import payroll_import


class PayPeriodOut(VersionedRow):
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    state = serializers.ChoiceField(STATES)
    exported_at = serializers.DateTimeField(allow_null=True)
    exported_by = UserRef(allow_null=True)
    file_sha256 = serializers.CharField(help_text="Of the file that went to payroll; empty before.")


class PayPeriodIn(Body):
    first_day = Day()
    last_day = Day()


class PayPeriodFilter(Filters):
    state = AnyOf(words=STATES)
    day = OnDay(method="holding")

    def holding(self, rows: QuerySet[Any], name: str, day: Any) -> QuerySet[Any]:
        return rows.filter(first_day__lte=day, last_day__gte=day)


class PayPeriods(ListEndpoint):
    endpoint = "pay-periods"
    row = PayPeriodOut
    filters = PayPeriodFilter
    sorts = {"first_day": "first_day"}
    usual_sort = "-first_day"

    def rows(self) -> QuerySet[Any]:
        """Pay periods, the newest first."""
        return pay_periods(self.actor)

    @writes(PayPeriodOut, body=PayPeriodIn, located_at="pay-period")
    def post(self) -> Any:
        """Open a pay period. No day is in two of them."""
        return pay_period_open(**self.body, stamp=self.stamp())


class PayPeriodOne(Endpoint):
    endpoint = "pay-period"

    @shows(PayPeriodOut)
    def get(self, pay_period_id: Any) -> Any:
        """One pay period."""
        return pay_period_get(self.actor, pay_period_id)


class PayrollProblemOut(Out):
    code = serializers.CharField()
    message = serializers.CharField()


class PayrollDayOut(Out):
    person = NamedRef()
    day = serializers.DateField()
    has_day_sheet = serializers.BooleanField(source="has_sheet", help_text="Without one, close-outs tell the minutes.")
    by_code = serializers.DictField(child=serializers.IntegerField(), help_text="Minutes by code.")
    minutes = serializers.IntegerField(help_text="In all; comp time is earned and not counted.")


class PayrollChangeOut(Out):
    person = NamedRef()
    day = serializers.DateField()
    code = serializers.CharField()
    told = serializers.IntegerField(help_text="Minutes that payroll was told so far.")
    known = serializers.IntegerField(help_text="Minutes as they are known now.")


class PayrollHoursOut(Out):
    days = PayrollDayOut(many=True)
    problems = PayrollProblemOut(many=True)
    changes = PayrollChangeOut(many=True, help_text="Of locked days: they go with the next export.")


class PayPeriodHours(Endpoint):
    endpoint = "pay-period-hours"

    @shows(PayrollHoursOut)
    def get(self, pay_period_id: Any) -> dict[str, Any]:
        """Hours by person and day as they are known now, and what to look at before they go to payroll."""
        period = pay_period_get(self.actor, pay_period_id)
        return {
            "days": payroll_hours(self.actor, period.first_day, period.last_day),
            "problems": period_problems(self.actor, period, self.today),
            "changes": changes_waiting(self.actor, period),
        }


class PayrollExportIn(Body):
    version = Whole(help_text="Of the pay period, as you read it.")


class PayPeriodExport(Endpoint):
    endpoint = "pay-period-export"

    @writes(PayPeriodOut, body=PayrollExportIn, status=200, more_statuses=(412,))
    def post(self, pay_period_id: Any) -> Any:
        """Tell payroll the hours and lock the period. What changes later goes with the next period as adjustments."""
        period = pay_period_get(self.actor, pay_period_id)
        return payroll_export(period=period, expected=self.body["version"], stamp=self.stamp())


class PayPeriodFile(Endpoint):
    endpoint = "pay-period-file"

    @plain(status=200, gives=("text/csv",), more_statuses=(409,))
    def get(self, request: Any, pay_period_id: Any) -> HttpResponse:
        """The file that went to payroll: CSV, the same bytes each time."""
        period = pay_period_get(self.actor, pay_period_id)
        named = {"Content-Disposition": f'attachment; filename="{payroll_file_name(period)}"'}
        kind = "text/csv; charset=utf-8; header=present"
        return HttpResponse(payroll_file(self.actor, period), content_type=kind, headers=named)


class ReconciledOut(Out):
    person = NamedRef()
    told_minutes = serializers.IntegerField()
    ledger_cents = serializers.IntegerField(help_text="Labor and overtime premium of the period's days, now.")
    payroll_cents = serializers.IntegerField(help_text="By the newest file; 0 where it does not name the person.")
    difference_cents = serializers.IntegerField()
    in_file = serializers.SerializerMethodField()
    has_moved = serializers.BooleanField(help_text="The ledger has changed since the file was taken.")

    def get_in_file(self, row: Any) -> bool:
        return row.line is not None


class ReconciliationOut(Out):
    people = ReconciledOut(many=True)


class PayPeriodReconciliation(Endpoint):
    endpoint = "pay-period-reconciliation"

    @shows(ReconciliationOut)
    def get(self, pay_period_id: Any) -> dict[str, Any]:
        """Person by person: hours told, what the ledger has, what payroll cost, and the difference."""
        return {"people": reconciliation(self.actor, pay_period_get(self.actor, pay_period_id))}


class EffortMadeOut(Out):
    statements = serializers.ListField(child=serializers.UUIDField())


class PayPeriodEffort(Endpoint):
    endpoint = "pay-period-effort"

    @writes(EffortMadeOut, status=200)
    def post(self, pay_period_id: Any) -> dict[str, Any]:
        """Make the effort statements of everybody with paid time in the period; those that still fit stay."""
        period = pay_period_get(self.actor, pay_period_id)
        made = effort_make_all(first_day=period.first_day, last_day=period.last_day, stamp=self.stamp())
        return {"statements": [statement.public_id for statement in made]}


class PayPeriodRef(Row):
    first_day = serializers.DateField()
    last_day = serializers.DateField()


class PayrollImportRow(Row):
    period = PayPeriodRef()
    revision = serializers.IntegerField()
    file_name = serializers.CharField()
    file_sha256 = serializers.CharField()
    total_cents = serializers.IntegerField()
    ledger_cents = serializers.IntegerField(help_text="What the ledger had for the same people and days.")
    at = serializers.DateTimeField()
    by = UserRef(allow_null=True)


class PayrollImportLineOut(Out):
    row_number = serializers.IntegerField()
    person = NamedRef()
    gross_cents = serializers.IntegerField()
    employer_cents = serializers.IntegerField()
    ledger_cents = serializers.IntegerField()


class PayrollImportOut(PayrollImportRow):
    lines = PayrollImportLineOut(many=True)


class PayrollImportIn(Body):
    pay_period = Id()
    file = serializers.FileField(max_length=200, help_text="CSV in UTF-8: person or person id, gross, employer cost.")


class PayrollFormParser(FileFormParser):
    most_setting = "PRODUCT_DOCUMENT_MAX_BYTES"


class PayrollImportFilter(Filters):
    pay_period = OfId(field_name="period__public_id")


class PayrollImports(ListEndpoint):
    endpoint = "payroll-imports"
    parser_classes = (PayrollFormParser,)
    row = PayrollImportRow
    filters = PayrollImportFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[Any]:
        """What payroll cost, file by file; of each period the newest counts."""
        return payroll_imports_all(self.actor)

    @writes(PayrollImportRow, body=PayrollImportIn, located_at="payroll-import", names_others=True)
    def post(self) -> Any:
        """Take what a period's payroll really cost; another file of the period takes back what the first one posted."""
        period, file = pay_period_get(self.actor, self.body["pay_period"]), self.body["file"]
        return payroll_import(period=period, file_name=file.name, data=file.read(), stamp=self.stamp())


class PayrollImportOne(Endpoint):
    endpoint = "payroll-import"

    @shows(PayrollImportOut)
    def get(self, payroll_import_id: Any) -> Any:
        """One file, line by line."""
        return payroll_import_get(self.actor, payroll_import_id)
