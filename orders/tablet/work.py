"""What a tablet fetches: its work package, and the documents that it names."""

from typing import Any

from django.http import HttpResponse
from django.utils.http import content_disposition_header
from rest_framework import serializers

from orders.api.operations import plain, takes
from orders.api.shapes import Out
from orders.bodies.base import Body
from orders.carried import work_package
from orders.common.clock import now
from orders.common.stamp import Stamp
from orders.supplies.documents import PDF, TEXT
from orders.supplies.selectors import document_by_hash
from orders.tablet.sync import TabletEndpoint

MOST_KNOWN = 2000


class WorkIn(Body):
    known = serializers.DictField(
        child=serializers.CharField(max_length=64), default=dict, help_text="Hash of each order held, by its id."
    )
    documents = serializers.ListField(
        child=serializers.CharField(max_length=64),
        default=list,
        max_length=MOST_KNOWN,
        help_text="Hashes of those held.",
    )


class WorkOut(Out):
    payload_version = serializers.IntegerField()
    server_time = serializers.DateTimeField()
    today = serializers.DateField(help_text="Of the program.")
    program_name = serializers.CharField(help_text="Whose work it is: the requester on application records.")
    people = serializers.ListField(child=serializers.DictField(), help_text="The people who use this tablet.")
    policy = serializers.DictField(help_text="The program's rules for work outside, units, the map's tile server.")
    crews = serializers.ListField(
        child=serializers.DictField(), help_text="With their members, what each may do and under whom."
    )
    sites = serializers.ListField(
        child=serializers.DictField(), help_text="Way in, emergency plan, checklist, patches, the rule on records."
    )
    orders = serializers.ListField(
        child=serializers.DictField(), help_text="Only those that are not held as they are now."
    )
    gone = serializers.ListField(child=serializers.CharField(), help_text="Held, and not this tablet's any more.")
    order_ids = serializers.ListField(child=serializers.UUIDField(), help_text="All that are this tablet's.")
    products = serializers.ListField(
        child=serializers.DictField(), help_text="With their documents, each fetched by its hash."
    )
    lots = serializers.ListField(child=serializers.DictField(), help_text="In stock, of those products.")
    open_batches = serializers.ListField(child=serializers.DictField(), help_text="Mixes of which something is left.")
    species = serializers.ListField(child=serializers.DictField())
    growth_forms = serializers.ListField(child=serializers.DictField())
    methods = serializers.ListField(child=serializers.DictField())
    time_codes = serializers.ListField(child=serializers.CharField())


class Work(TabletEndpoint):
    endpoint = "tablet-work"

    @takes(WorkOut, body=WorkIn, status=200)
    def post(self) -> dict[str, Any]:
        """All that the tablet's crews need for their open orders, the earliest first.

        No rate of pay, price, cost or fund is in it.
        """
        known: dict[str, str] = self.body["known"]
        return work_package(device=self.device, known=known, stamp=Stamp(by=self.actor, at=now()))


class WorkDocument(TabletEndpoint):
    endpoint = "tablet-document"

    @plain(status=200, gives=(PDF, TEXT))
    def get(self, request: Any, sha256: str) -> HttpResponse:
        """A label or a safety data sheet, whole. What is behind a hash never changes."""
        found = document_by_hash(sha256)
        reply = HttpResponse(bytes(found.file_bytes), content_type=found.content_type)
        reply.headers["Content-Disposition"] = str(content_disposition_header(False, found.file_name))
        reply.headers["Cache-Control"] = "private, max-age=31536000, immutable"
        reply.headers["X-Content-Type-Options"] = "nosniff"
        return reply
