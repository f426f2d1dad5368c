"""What tablets sent, and what became of it; and what they could not send, brought as a file."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import shows, takes
from orders.api.paging import ListEndpoint
from orders.api.parsers import FileFormParser
from orders.api.shapes import NamedRef, Out, Row, UserRef
from orders.bodies.base import Body
from orders.commands.export import Imported, export_import
from orders.field.models import Command
from orders.field.selectors.commands import command_get, commands


class CommandRow(Row):
    device = NamedRef()
    seq = serializers.IntegerField()
    user = UserRef(allow_null=True)
    kind = serializers.CharField()
    order = serializers.UUIDField(source="order.public_id", default=None, allow_null=True)
    app_version = serializers.CharField()
    happened_at = serializers.DateTimeField(allow_null=True)
    received_at = serializers.DateTimeField()
    skew_seconds = serializers.IntegerField(allow_null=True)
    from_file = serializers.BooleanField()
    state = serializers.ChoiceField(Command.STATES)
    answer = serializers.DictField(allow_null=True, help_text="What the tablet was told.")
    answered_at = serializers.DateTimeField(allow_null=True)


class CommandOut(CommandRow):
    raw = serializers.CharField(help_text="As it came.")
    sha256 = serializers.CharField()


class CommandFilter(Filters):
    device = OfId(field_name="device__public_id")
    user = OfId(field_name="user__public_id")
    order = OfId(field_name="order__public_id")
    kind = OfWord(field_name="kind")
    state = AnyOf(words=Command.STATES)


class Commands(ListEndpoint):
    endpoint = "commands"
    row = CommandRow
    filters = CommandFilter
    usual_sort = "-id"

    def rows(self) -> QuerySet[Command]:
        """What tablets sent, the newest first."""
        return commands().defer("raw")


class CommandOne(Endpoint):
    endpoint = "command"

    @shows(CommandOut)
    def get(self, command_id: Any) -> Command:
        """One command, with what was sent."""
        return command_get(command_id)


class ExportParser(FileFormParser):
    most_setting = "TABLET_EXPORT_MAX_BYTES"


class UnsentIn(Body):
    file = serializers.FileField(max_length=300, help_text="As the tablet saved it.")


class ImportedOut(Out):
    device = NamedRef()
    commands = serializers.IntegerField()
    known = serializers.IntegerField(help_text="Of these had come before.")
    states = serializers.DictField(child=serializers.IntegerField(), help_text="All of them, by what became of them.")
    photos = serializers.IntegerField()
    photos_whole = serializers.IntegerField()


class UnsentImports(Endpoint):
    endpoint = "unsent-imports"
    parser_classes = (ExportParser,)

    @takes(ImportedOut, body=UnsentIn, status=201, names_others=True)
    def post(self) -> Imported:
        """Bring in the file of what a tablet could not send, also of one that is revoked. Again, it changes nothing."""
        return export_import(data=self.body["file"].read(), stamp=self.stamp())
