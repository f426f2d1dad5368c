"""Application records: what was signed of herbicide uses, what is owed, and what must be kept longer."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from orders.api.base import Endpoint, queries_check
from orders.api.filters import AnyOf, Filters, OfId, OfWord, OnDay
from orders.api.operations import reports, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.renderers import CsvRenderer
from orders.api.shapes import NamedRef, Out, Row, SiteRef, UserRef
from orders.bodies.base import Because
from orders.bodies.records import HoldIn, RecordSigned
from orders.common.errors import FieldError, Invalid
from orders.reports.records import records_csv
from orders.workorders.models import ApplicationRecord, RecordHold
from orders.workorders.records.fields import CODES
from orders.workorders.records.keeping import hold_get, record_hold_lift, record_hold_place
from orders.workorders.records.lists import STATES, in_state, record_get, records_of, uses_of, with_product
from orders.workorders.records.naming import signature_named
from orders.workorders.records.signing import record_amend, record_of, record_sign
from orders.workorders.records.states import RecordState, records_open

FIELD_CODES = [(code, code) for code in CODES]


class BatchRef(Row):
    container = serializers.CharField()
    work_date = serializers.DateField()


class ProfileRef(Row):
    jurisdiction = serializers.CharField()
    first_day = serializers.DateField()


class RecordOut(Row):
    batch = BatchRef()
    site = SiteRef()
    work_date = serializers.DateField()
    responsible = NamedRef()
    products = serializers.SerializerMethodField()
    revision = serializers.IntegerField()
    amends = serializers.UUIDField(source="amends.public_id", default=None, allow_null=True)
    reason = serializers.CharField()
    profile = ProfileRef()
    started_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(help_text="The term to sign counts from here.")
    due_on = serializers.DateField()
    values = serializers.JSONField(help_text="As signed: `version`, and `fields` by field code.")
    missing = serializers.ListField(child=serializers.ChoiceField(FIELD_CODES))
    signed_by = serializers.CharField()
    signed_at = serializers.DateTimeField(source="at")
    received_at = serializers.DateTimeField()
    by = UserRef(allow_null=True)
    retain_until = serializers.DateField(help_text="Nothing may delete it until then.")

    def get_products(self, record: ApplicationRecord) -> list[str]:
        """Codes."""
        return [part.product.code for part in record.batch.parts.all()]


class RecordFilter(Filters):
    work_from = OnDay(field_name="work_date", lookup_expr="gte")
    work_to = OnDay(field_name="work_date", lookup_expr="lte")
    site = OfId(field_name="site__public_id")
    responsible = OfId(field_name="responsible__public_id")
    product = OfWord(method="of_product")
    state = AnyOf(words=STATES, method="of_state")

    def of_product(self, rows: Any, name: str, code: str) -> Any:
        return with_product(rows, code)

    def of_state(self, rows: Any, name: str, states: list[str]) -> Any:
        return rows if len(set(states)) > 1 else in_state(rows, states[0])


class ApplicationRecords(ListEndpoint):
    endpoint = "application-records"
    row = RecordOut
    filters = RecordFilter
    sorts = {"work_date": "work_date", "due_on": "due_on"}
    usual_sort = "-work_date"

    def rows(self) -> QuerySet[ApplicationRecord]:
        """The revisions that stand; a crew lead's are those of own crews' mixes."""
        return records_of(self.actor, on=self.today)

    @writes(RecordOut, body=RecordSigned, names_others=True, located_at="application-record")
    def post(self) -> ApplicationRecord:
        """Sign the record of a mix, a place, a day and a responsible applicator.

        With a reason it amends the one that stands. Fields that are missing do not stop it: the answer names them.
        """
        signature = signature_named(self.body, at=self.body["signed_at"])
        reason = self.body.get("reason") or ""
        standing = record_of(signature)
        if standing is not None and reason:
            found = record_amend(record=standing, signature=signature, reason=reason, stamp=self.stamp())
        else:
            found = record_sign(signature=signature, stamp=self.stamp())
        return ApplicationRecord.objects.prefetch_related("batch__parts__product").get(pk=found.pk)


class RecordsTableOut(Out):
    records = RecordOut(many=True)


FORMAT = ("format", {"type": "string", "enum": ["json", "csv"]}, "Else as the Accept header says.")


class ApplicationRecordsTable(Endpoint):
    endpoint = "application-records-table"
    renderer_classes = (JSONRenderer, CsvRenderer)

    @reports(RecordsTableOut, queries=(FORMAT,), also_csv=True)
    def get(self) -> Response | dict[str, QuerySet[ApplicationRecord]]:
        """All records that stand and that the caller may see, at once: as CSV for a spreadsheet."""
        queries_check(self.request, {"format"})
        if self.request.query_params.get("format", "json") not in FORMAT[1]["enum"]:
            raise Invalid("The table has no such format.", [FieldError("format", "must be json or csv")])
        found = records_of(self.actor, on=self.today)
        if not isinstance(self.request.accepted_renderer, CsvRenderer):
            return {"records": found}
        named = {"Content-Disposition": 'attachment; filename="application-records.csv"'}
        return Response(records_csv(found), content_type="text/csv; charset=utf-8; header=present", headers=named)


class ApplicationRecordOne(Endpoint):
    endpoint = "application-record"

    @shows(RecordOut)
    def get(self, record_id: Any) -> ApplicationRecord:
        """One revision of a record."""
        return record_get(self.actor, record_id, on=self.today)


class OwedOut(Out):
    batch = BatchRef(source="group.batch")
    site = SiteRef(source="group.site")
    work_date = serializers.DateField(source="group.work_date")
    responsible = NamedRef(source="group.responsible")
    ended_at = serializers.DateTimeField(source="group.ended_at")
    state = serializers.CharField(help_text="owed, or incomplete: signed without all that is required.")
    record = serializers.UUIDField(source="record.public_id", default=None, allow_null=True)
    missing = serializers.ListField(child=serializers.CharField(), source="record.missing", default=list)
    due_on = serializers.DateField()
    rule = serializers.CharField(source="profile.source")


class OwedListOut(Out):
    owed = OwedOut(many=True)


class ApplicationRecordsOwed(Endpoint):
    endpoint = "application-records-owed"

    @reports(OwedListOut, queries=())
    def get(self) -> dict[str, list[RecordState]]:
        """Uses whose record is not signed yet, or lacks something, the first due first."""
        queries_check(self.request, set())
        return {"owed": records_open(uses_of(self.actor, on=self.today))}


class HoldOut(Row):
    why = serializers.CharField()
    placed_by = UserRef()
    placed_at = serializers.DateTimeField()
    lifted_by = UserRef(allow_null=True)
    lifted_at = serializers.DateTimeField(allow_null=True)


class HoldsOut(Out):
    holds = HoldOut(many=True)


class ApplicationRecordHolds(Endpoint):
    endpoint = "application-record-holds"

    @shows(HoldsOut)
    def get(self, record_id: Any) -> dict[str, Any]:
        """Why it is kept beyond its term."""
        record = record_get(self.actor, record_id, on=self.today)
        return {"holds": record.holds.select_related("placed_by", "lifted_by").order_by("id")}

    @writes(HoldOut, body=HoldIn)
    def post(self, record_id: Any) -> RecordHold:
        """Keep it beyond its term, until somebody lifts the hold."""
        record = record_get(self.actor, record_id, on=self.today)
        return record_hold_place(record=record, why=self.body["why"], stamp=self.stamp())


class ApplicationRecordHoldLift(Endpoint):
    endpoint = "application-record-hold-lift"

    @writes(HoldOut, body=Because, status=200)
    def post(self, record_id: Any, hold_id: Any) -> RecordHold:
        """The reason is over: its own term holds again."""
        record = record_get(self.actor, record_id, on=self.today)
        hold = hold_get(record, hold_id)
        return record_hold_lift(hold=hold, stamp=self.stamp(self.body["reason"]))
