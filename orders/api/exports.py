"""Files of reports: asked for, followed, fetched. The same job as behind the pages."""

from typing import Any

from django.db.models import QuerySet
from django.http import StreamingHttpResponse
from django.utils.http import content_disposition_header
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfWord
from orders.api.operations import plain, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.runs import RunOut
from orders.bodies.base import Body
from orders.bodies.fields import Choice, Id, Text
from orders.common.errors import FieldError, Invalid
from orders.common.models.run import STATES
from orders.reports.asking import month_read
from orders.reports.files import MEDIA_TYPES, file_blocks
from orders.reports.models import ExportRun
from orders.reports.selectors import export_file, export_get, export_runs
from orders.reports.services import TABLE_FORMATS, export_ask, handover_ask


class ExportOut(RunOut):
    report = serializers.CharField()
    query = serializers.DictField(child=serializers.CharField())
    file_format = serializers.ChoiceField(ExportRun.FORMATS)
    file_name = serializers.CharField(help_text="Empty until the file is made.")
    size_bytes = serializers.IntegerField()
    sha256 = serializers.CharField()
    rows_count = serializers.IntegerField()


class ExportIn(Body):
    id = Id(required=False)
    report = Text(max_length=30, help_text="Its code.")
    query = serializers.DictField(
        child=Text(max_length=200), required=False, help_text="What it is cut by and narrowed to, as on its screen."
    )
    file_format = Choice([(word, word) for word in TABLE_FORMATS])


class HandoverIn(Body):
    id = Id(required=False)
    month = Text(max_length=7, help_text="Such as 2027-03.")


class ExportFilter(Filters):
    report = OfWord()
    state = AnyOf(words=STATES)


class Exports(ListEndpoint):
    endpoint = "exports"
    row = ExportOut
    filters = ExportFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[ExportRun]:
        """Files asked for, the newest first: finance sees all, everybody else their own."""
        return export_runs(self.actor)

    @writes(ExportOut, body=ExportIn, status=202, names_others=True, located_at="export")
    def post(self) -> ExportRun:
        """Ask for a file of a report; a worker makes it in the background."""
        return export_ask(
            report=self.body["report"],
            query=self.body.get("query", {}),
            file_format=self.body["file_format"],
            public_id=self.body.get("id"),
            stamp=self.stamp(),
        )


class Handovers(Endpoint):
    endpoint = "handovers"

    @writes(ExportOut, body=HandoverIn, status=202, located_at="export")
    def post(self) -> ExportRun:
        """Ask for all that is handed over of a month, in one archive."""
        try:
            month = month_read(self.body["month"])
        except ValueError as error:
            raise Invalid("The hand-over was not asked for.", [FieldError("month", str(error))]) from error
        return handover_ask(month=month, public_id=self.body.get("id"), stamp=self.stamp())


class ExportOne(Endpoint):
    endpoint = "export"

    @shows(ExportOut)
    def get(self, export_id: Any) -> ExportRun:
        """How far a file is."""
        return export_get(self.actor, export_id)


class ExportFile(Endpoint):
    endpoint = "export-file"

    @plain(status=200, gives=tuple(media.split(";")[0] for media in MEDIA_TYPES.values()), more_statuses=(409,))
    def get(self, request: Any, export_id: Any) -> StreamingHttpResponse:
        """The file, once it is made, for whose role opens the report."""
        run, path = export_file(self.actor, export_id)
        reply = StreamingHttpResponse(file_blocks(path), content_type=MEDIA_TYPES[run.file_format])
        reply.headers["Content-Disposition"] = str(content_disposition_header(False, run.file_name))
        reply.headers["Content-Length"] = str(run.size_bytes)
        reply.headers["X-Content-Type-Options"] = "nosniff"
        return reply
