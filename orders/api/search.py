"""One search over what the reader may open."""

from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import reports
from orders.api.queries import queries_need, queries_read
from orders.api.shapes import Out
from orders.reports.search import KINDS, searched

MOST_HITS = 20
TEXT = {"type": "string"}
A_KIND = {"type": "string", "enum": [kind.code for kind in KINDS]}
WRONG = "Nothing can be searched for that way."


class HitOut(Out):
    id = serializers.UUIDField(source="key")
    words = serializers.CharField()
    about = serializers.CharField()


class FoundOut(Out):
    kind = serializers.CharField(source="kind.code")
    words = serializers.CharField(source="kind.words")
    more = serializers.BooleanField(help_text="There are others; ask for this kind alone, or more exactly.")
    hits = HitOut(many=True)


class SearchOut(Out):
    groups = FoundOut(many=True)


def _kind_read(text: str) -> str:
    if text not in A_KIND["enum"]:
        raise ValueError("is no kind that is searched")
    return text


class Search(Endpoint):
    endpoint = "search"

    @reports(
        SearchOut,
        queries=(
            ("q", TEXT, "Each of its words stands somewhere in what is found."),
            ("kind", A_KIND, "Only this kind."),
        ),
    )
    def get(self) -> dict[str, Any]:
        """Sites, patches, orders, people, products, records and the rest, the best first in each group."""
        read = queries_read(self.request, {"q": str, "kind": _kind_read}, wrong=WRONG)
        queries_need(read, ("q",), wrong=WRONG)
        kind = read.get("kind", "")
        return {"groups": searched(actor=self.actor, question=read["q"], on=self.today, most=MOST_HITS, kind=kind)}
