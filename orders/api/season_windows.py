"""The windows of a season: patch by patch and method by method, with why each opens and closes."""

from typing import Any

from django.core.paginator import Paginator
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.operations import Queries, reports
from orders.api.queries import Reader, queries_read
from orders.api.shapes import MethodRef, NamedRef, Out, PatchRef
from orders.planning.selectors import season_get
from orders.planning.window_list import SHOWN, SORTS, WindowQuestion

WRONG = "The windows cannot be asked for that way."
PAGE, MOST_ROWS, MOST_PAGES = 50, 200, 100_000
WORD_CHARACTERS = 120
SORT_WORDS = [f"{turn}{name}" for name in SORTS for turn in ("", "-")]
WORD = {"type": "string", "minLength": 1, "maxLength": WORD_CHARACTERS}
QUERIES: Queries = (
    ("site", WORD, "Code of a site."),
    ("method", WORD, "Code of a method."),
    ("species", WORD, "Code of a species that the newest survey found there."),
    ("text", WORD, "Letters of the patch, the method or a reason."),
    ("shown", {"type": "string", "enum": [word for word, _ in SHOWN]}, "Methods recommended or chosen there, or all."),
    ("is_open", {"type": "string", "enum": ["yes", "no"]}, "With a window in the season, or without."),
    ("sort", {"type": "string", "enum": SORT_WORDS}, "- before it means downwards."),
    ("page", {"type": "integer", "minimum": 1, "maximum": MOST_PAGES}, "Of the rows, from 1."),
    ("limit", {"type": "integer", "minimum": 1, "maximum": MOST_ROWS}, "Rows of a page."),
)


class WindowOut(Out):
    opens = serializers.DateField()
    closes = serializers.DateField()
    days = serializers.IntegerField()
    opens_because = serializers.CharField()
    closes_because = serializers.CharField()


class SeedOut(Out):
    due = serializers.DateField()
    late = serializers.BooleanField()
    because = serializers.CharField()
    bag_fruit = serializers.BooleanField()
    seed_prevented = serializers.BooleanField()


class WindowRowOut(Out):
    patch = PatchRef(source="line.patch")
    survey = serializers.UUIDField(source="line.survey.public_id")
    method = MethodRef()
    is_recommended = serializers.BooleanField()
    prescription = serializers.UUIDField(source="chosen.public_id", allow_null=True)
    windows = WindowOut(many=True)
    notes = serializers.ListField(source="report.notes", child=serializers.CharField())
    conditions = serializers.ListField(source="report.conditions", child=serializers.CharField())
    seed_deadline = SeedOut(source="seed", allow_null=True, help_text="Where the method takes the fruit away.")


class WindowsOut(Out):
    season = NamedRef()
    rows = serializers.IntegerField(help_text="On all pages together.")
    page = serializers.IntegerField()
    pages = serializers.IntegerField()
    results = WindowRowOut(many=True)


def _word(text: str) -> str:
    if "\0" in text or len(text) > WORD_CHARACTERS:
        raise ValueError(f"must be text of at most {WORD_CHARACTERS} characters")
    return text


def _of(words: list[str]) -> Reader:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"must be one of {', '.join(words)}")
        return text

    return read


def _whole(most: int) -> Reader:
    def read(text: str) -> int:
        if not (text.isascii() and text.isdigit() and len(text) < 7 and 1 <= int(text) <= most):
            raise ValueError(f"must be from 1 to {most}")
        return int(text)

    return read


READERS: dict[str, Reader] = {
    "site": _word,
    "method": _word,
    "species": _word,
    "text": _word,
    "shown": _of([word for word, _ in SHOWN]),
    "is_open": _of(["yes", "no"]),
    "sort": _of(SORT_WORDS),
    "page": _whole(MOST_PAGES),
    "limit": _whole(MOST_ROWS),
}


class SeasonWindowsAll(Endpoint):
    endpoint = "season-windows"

    @reports(WindowsOut, queries=QUERIES)
    def get(self, season_id: Any) -> dict[str, Any]:
        """Open windows within the season of each method on each patch, and why there is none where there is none."""
        asked = queries_read(self.request, READERS, wrong=WRONG)
        season = season_get(season_id)
        number, limit = asked.pop("page", 1), asked.pop("limit", PAGE)
        found = Paginator(flow.windows_asked(question=WindowQuestion(**asked), season=season), limit)
        page = found.get_page(number)
        return {
            "season": season,
            "rows": found.count,
            "page": page.number,
            "pages": found.num_pages,
            "results": list(page),
        }
