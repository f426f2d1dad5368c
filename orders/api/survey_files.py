"""Survey files on their way in: looked into, with a suggestion of what is what; and mappings kept by name."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.utils.http import content_disposition_header
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import edits, plain, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.parsers import FileFormParser
from orders.api.queries import A_DAY, AN_ID, ids_read, queries_read
from orders.api.shapes import Row, UserRef, VersionedRow
from orders.bodies.base import Body, Nothing
from orders.bodies.fields import Id, Text, day_read
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.sites.convert import known_codes
from orders.sites.exporting import FORMATS, ExportAsk, surveys_exported
from orders.sites.geofiles.matching import suggest_document
from orders.sites.models import SurveyFile, SurveyMapping
from orders.sites.selectors import sites_named
from orders.sites.services.survey_files import (
    LookedInto,
    survey_file_add,
    survey_file_drop,
    survey_file_look,
    survey_mapping_add,
    survey_mapping_edit,
    survey_mapping_remove,
)
from orders.sites.survey_file_selectors import (
    survey_file_get,
    survey_files,
    survey_mapping_get,
    survey_mappings,
)

WRONG = "The file cannot be made that way."
MOST_SITES = 200
MOST_COLUMNS = 300


class SurveyFileRow(Row):
    file_name = serializers.CharField()
    file_sha256 = serializers.CharField()
    layer = serializers.CharField()
    added_by = UserRef()
    added_at = serializers.DateTimeField()
    matched_at = serializers.DateTimeField(allow_null=True)


class SurveyFileOut(SurveyFileRow):
    found = serializers.DictField(help_text="Format, layers, columns with their values, first rows, coordinate system.")
    mapping = serializers.DictField(
        allow_null=True,
        help_text="How it may be read, as imports take it: a suggestion until somebody matched it.",
    )


class SurveyFileIn(Body):
    id = Id(required=False)
    file = serializers.FileField(max_length=300)
    layer = serializers.CharField(required=False, allow_blank=True, max_length=120)


class SurveyFiles(ListEndpoint):
    endpoint = "survey-files"
    parser_classes = (FileFormParser,)
    row = SurveyFileRow
    usual_sort = "-id"
    looked: LookedInto

    def rows(self) -> QuerySet[SurveyFile]:
        """Files that were looked into, the newest first."""
        return survey_files()

    def look(self) -> None:
        file = self.body["file"]
        self.looked = survey_file_look(file.read(), file.name, layer=self.body.get("layer", ""))

    @writes(SurveyFileOut, body=SurveyFileIn, located_at="survey-file", prepare=look)
    def post(self) -> SurveyFile:
        """Look into a file: what it holds, and which of its columns may be which of ours. Nothing is imported."""
        return survey_file_add(
            looked=self.looked,
            mapping=suggest_document(self.looked.found, known_codes()),
            public_id=self.body.get("id"),
            stamp=self.stamp(),
        )


class SurveyFileOne(Endpoint):
    endpoint = "survey-file"

    @shows(SurveyFileOut)
    def get(self, file_id: UUID) -> SurveyFile:
        """One file with what is in it."""
        return survey_file_get(file_id)


class SurveyFileDrop(Endpoint):
    endpoint = "survey-file-drop"

    @writes(SurveyFileRow, body=Nothing, status=200)
    def post(self, file_id: UUID) -> SurveyFile:
        """Let go of a file that was not taken."""
        row = survey_file_get(file_id)
        survey_file_drop(survey_file=row, stamp=self.stamp())
        return row


class SurveyMappingOut(VersionedRow):
    name = serializers.CharField()
    columns = serializers.ListField(child=serializers.CharField())
    mapping = serializers.DictField(help_text="As survey imports take it.")


class SurveyMappingIn(Body):
    id = Id(required=False)
    name = Text(max_length=120)
    columns = serializers.ListField(
        child=Text(max_length=200), max_length=MOST_COLUMNS, help_text="Of the files that it is for."
    )
    mapping = Text(max_length=200_000, help_text="JSON, as survey imports take it.")


class SurveyMappingEdit(Body):
    name = Text(max_length=120, required=False)


class SurveyMappings(ListEndpoint):
    endpoint = "survey-mappings"
    row = SurveyMappingOut
    sorts = {"name": "name"}
    usual_sort = "name"

    def rows(self) -> QuerySet[SurveyMapping]:
        """Mappings kept by name, for the next file of their kind."""
        return survey_mappings()

    @writes(SurveyMappingOut, body=SurveyMappingIn, located_at="survey-mapping")
    def post(self) -> SurveyMapping:
        """Keep a mapping under a name."""
        body = self.body
        return survey_mapping_add(
            name=body["name"],
            columns=body["columns"],
            mapping_text=body["mapping"],
            public_id=body.get("id"),
            stamp=self.stamp(),
        )


class SurveyMappingOne(Endpoint):
    endpoint = "survey-mapping"

    @shows(SurveyMappingOut)
    def get(self, mapping_id: UUID) -> SurveyMapping:
        """One mapping."""
        return survey_mapping_get(mapping_id)

    @edits(SurveyMappingOut, body=SurveyMappingEdit)
    def patch(self, mapping_id: UUID) -> SurveyMapping:
        """Call it otherwise."""
        row = survey_mapping_get(mapping_id)
        return survey_mapping_edit(row=row, expected=self.version_named(row), values=self.body, stamp=self.stamp())


class SurveyMappingRemove(Endpoint):
    endpoint = "survey-mapping-remove"

    @writes(SurveyMappingOut, body=Nothing, status=200)
    def post(self, mapping_id: UUID) -> SurveyMapping:
        """Remove it; files that were read by it keep their own copy."""
        row = survey_mapping_get(mapping_id)
        survey_mapping_remove(row=row, expected=row.version, stamp=self.stamp())
        return row


def _format(text: str) -> str:
    if text not in FORMATS:
        raise ValueError(f"must be one of {', '.join(FORMATS)}")
    return text


def _which(text: str) -> bool:
    if text not in {"newest", "all"}:
        raise ValueError("must be newest or all")
    return text == "newest"


MEDIA_TYPES = tuple(dict.fromkeys(each.media_type for each in FORMATS.values()))
IDS = {"type": "array", "items": AN_ID, "maxItems": MOST_SITES}
EXPORT_QUERIES = (
    ("format", {"type": "string", "enum": list(FORMATS)}, "Which format; needed."),
    ("sites", IDS, "Only of these sites, with commas between them."),
    ("which", {"type": "string", "enum": ["newest", "all"]}, "The newest of each patch (usual), or all that stand."),
    ("from", A_DAY, "Seen on this day or later."),
    ("to", A_DAY, "Seen on this day or before."),
)


class SurveyExport(Endpoint):
    endpoint = "survey-export"
    queries = {
        "format": _format,
        "sites": lambda text: ids_read(text, most=MOST_SITES),
        "which": _which,
        "from": day_read,
        "to": day_read,
    }

    @plain(status=200, gives=MEDIA_TYPES, queries=EXPORT_QUERIES, more_statuses=(400,))
    def get(self, request: Any) -> HttpResponse:
        """Surveys as a file for other programs, the same as the page gives."""
        read = queries_read(request, self.queries, wrong=WRONG)
        if "format" not in read:
            raise Invalid(WRONG, [FieldError("format", "is required", code="required")])
        ask = ExportAsk(
            file_format=read["format"],
            sites=sites_named(read.get("sites", [])),
            newest=read.get("which", True),
            first_day=read.get("from"),
            last_day=read.get("to"),
        )
        stamp: Stamp = self.stamp()
        made = surveys_exported(ask, at=stamp.at)
        reply = HttpResponse(made.data, content_type=made.media_type)
        reply.headers["Content-Disposition"] = str(content_disposition_header(True, made.name))
        reply.headers["X-Content-Type-Options"] = "nosniff"
        return reply
