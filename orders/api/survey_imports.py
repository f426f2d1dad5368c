"""Survey files: hand one in, see what came of each row, take it back."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.parsers import FileFormParser
from orders.api.runs import RunOut
from orders.api.shapes import Out, PatchRef
from orders.bodies.base import Because, Body
from orders.bodies.fields import FormFlag, Id
from orders.common.errors import FieldError, Invalid
from orders.sites.models import SurveyImport
from orders.sites.selectors import survey_import_get, survey_imports
from orders.sites.services import survey_import_ask, survey_import_undo


class ImportRow(RunOut):
    file_name = serializers.CharField()
    file_sha256 = serializers.CharField()
    layer = serializers.CharField()
    dry_run = serializers.BooleanField()
    keep_good_rows = serializers.BooleanField()
    refused = serializers.BooleanField()
    rows_read = serializers.IntegerField()
    rows_added = serializers.IntegerField()
    rows_known = serializers.IntegerField()
    surveys_added = serializers.IntegerField()
    patches_added = serializers.IntegerField()
    undone_at = serializers.DateTimeField(allow_null=True)


class FindingOut(Out):
    row = serializers.IntegerField(allow_null=True)
    line = serializers.IntegerField(allow_null=True)
    field = serializers.CharField(allow_null=True)
    code = serializers.CharField()
    message = serializers.CharField()


class ImportOut(ImportRow):
    mapping = serializers.DictField(allow_null=True)
    errors = FindingOut(many=True)  # type: ignore[assignment]  # the metaclass takes it off again
    warnings = FindingOut(many=True)


class ImportIn(Body):
    id = Id(required=False)
    file = serializers.FileField(max_length=300)
    mapping_file = serializers.FileField(required=False, help_text="Or mapping: which columns mean what, as JSON.")
    mapping = serializers.CharField(required=False, allow_blank=True, max_length=200_000)
    layer = serializers.CharField(required=False, allow_blank=True, max_length=120)
    dry_run = FormFlag(default=False)
    keep_good_rows = FormFlag(default=False)


class SurveyImports(ListEndpoint):
    endpoint = "survey-imports"
    parser_classes = (FileFormParser,)
    row = ImportRow
    usual_sort = "-id"

    def rows(self) -> QuerySet[SurveyImport]:
        """Files handed in, the newest first."""
        return survey_imports().defer("file_bytes", "errors", "warnings", "mapping")

    @writes(ImportRow, body=ImportIn, status=202, located_at="survey-import")
    def post(self) -> SurveyImport:
        """Hand in a file; a worker reads it in the background."""
        return survey_import_ask(**asked(self.body), stamp=self.stamp())


class SurveyImportOne(Endpoint):
    endpoint = "survey-import"

    @shows(ImportOut)
    def get(self, import_id: Any) -> SurveyImport:
        """One import: how far it is, and what came of each row."""
        return survey_import_get(import_id)


class UndoneOut(Out):
    surveys_voided = serializers.IntegerField()
    patches_bare = PatchRef(many=True, help_text="Patches that now have no survey at all.")


class SurveyImportUndo(Endpoint):
    endpoint = "survey-import-undo"

    @writes(UndoneOut, body=Because, status=200)
    def post(self, import_id: Any) -> Any:
        """Take an import back: its surveys are voided, nothing is deleted."""
        return survey_import_undo(imported=survey_import_get(import_id), stamp=self.stamp(self.body["reason"]))


def asked(body: dict[str, Any]) -> dict[str, Any]:
    """The form as the import takes it."""
    file = body.pop("file")
    mapping_file = body.pop("mapping_file", None)
    mapping_text = _text(mapping_file) if mapping_file else body.pop("mapping", "")
    named = {"public_id": body.pop("id")} if "id" in body else {}
    body.pop("mapping", None)
    return {**body, **named, "data": file.read(), "file_name": file.name, "mapping_text": mapping_text}


def _text(file: Any) -> str:
    try:
        return str(file.read().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        message = "is not text in UTF-8"
        raise Invalid("The mapping cannot be read.", [FieldError("mapping_file", message)]) from error
