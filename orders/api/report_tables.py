"""Each report as rows with named cells, for programs that only read: finance systems, spreadsheets that fetch."""

from itertools import islice
from typing import Any

from django.urls import URLPattern
from rest_framework import serializers

from orders.api.addresses import at
from orders.api.base import Endpoint
from orders.api.operations import Queries, reports
from orders.api.queries import A_DAY, AN_ID, queries_read
from orders.api.shapes import Out
from orders.bodies.fields import id_read
from orders.reports.asking import WORD_CHARACTERS, WORDS, WRONG
from orders.reports.catalog import REPORTS, Report, report_table
from orders.reports.lines import LazyRows

ROWS_A_PAGE = 1_000
MOST_PAGES = 100_000

A_WORD = {"type": "string", "minLength": 1, "maxLength": WORD_CHARACTERS}
A_MONTH = {"type": "string", "pattern": "^(199[0-9]|20[0-9]{2})-(0[1-9]|1[0-2])$"}
A_PAGE = {"type": "integer", "minimum": 1, "maximum": MOST_PAGES}


def _enum(name: str) -> dict[str, Any]:
    return {"type": "string", "enum": list(WORDS[name])}


ASKED: dict[str, tuple[dict[str, Any], str]] = {
    "season": (AN_ID, "Orders of one season."),
    "fund": (A_WORD, "A fund's code."),
    "award": (A_WORD, "An award's code."),
    "site": (A_WORD, "A site's code."),
    "method": (A_WORD, "A method's code."),
    "crew": (A_WORD, "A crew's name."),
    "category": (_enum("category"), "A category of cost."),
    "account": (_enum("account"), "Rows that debit or credit this account."),
    "book": (_enum("book"), "Costs, settlements or match."),
    "month_from": (A_MONTH, "The first month."),
    "month_to": (A_MONTH, "The last month."),
    "basis": (_enum("basis"), "Whether a month is that of the posting or that of the work."),
    "on": (A_DAY, "The day that the report is about; else the latest that the books know of."),
}


class ReportColumnOut(Out):
    key = serializers.CharField()
    heading = serializers.CharField()
    kind = serializers.CharField(help_text="cents, minutes, percent, area_m2, day, month (its first day), text…")
    total = serializers.BooleanField(help_text="Whether the column is summed.")


class ReportTableOut(Out):
    title = serializers.CharField()
    told = serializers.ListField(child=serializers.CharField(), help_text="Filters and remarks, in words.")
    columns = ReportColumnOut(many=True)
    rows = serializers.ListField(child=serializers.DictField(), help_text="Cells by the key of their column.")
    total = serializers.DictField(allow_null=True, help_text="Of all rows, not of this page alone.")
    next_page = serializers.IntegerField(allow_null=True, help_text="Null where this is the last.")


def _queries(report: Report) -> Queries:
    cuts = {"type": "string", "enum": list(report.cuts)}
    words = {**ASKED, "by": (cuts, "What the report is cut by."), "and": (cuts, "And by this.")}
    return (*((name, *words[name]) for name in report.filters), ("page", A_PAGE, f"Of {ROWS_A_PAGE} rows."))


def _readers(report: Report) -> dict[str, Any]:
    readers: dict[str, Any] = dict.fromkeys(report.filters, _said)
    if "season" in readers:
        readers["season"] = lambda text: str(id_read(text))
    return readers | {"page": _page}


def _said(text: str) -> str:
    if not text:
        raise ValueError("must not be empty")
    return text


def _page(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and 1 <= int(text[:9]) <= MOST_PAGES):
        raise ValueError(f"must be a whole number from 1 to {MOST_PAGES}")
    return int(text)


def _answer(view: Endpoint, report: Report) -> dict[str, Any]:
    asked = queries_read(view.request, _readers(report), wrong=WRONG)
    page = asked.pop("page", 1)
    table = report_table(view.actor, report.code, asked)
    keys = [column.key for column in table.columns]
    first = (page - 1) * ROWS_A_PAGE
    rows = _part(table.rows, first, first + ROWS_A_PAGE + 1)
    return {
        "title": table.title,
        "told": table.told,
        "columns": table.columns,
        "rows": [dict(zip(keys, row, strict=True)) for row in rows[:ROWS_A_PAGE]],
        "total": dict(zip(keys, table.total, strict=True)) if table.total else None,
        "next_page": page + 1 if len(rows) > ROWS_A_PAGE else None,
    }


def _part(rows: Any, first: int, after: int) -> list[Any]:
    return rows[first:after] if isinstance(rows, LazyRows) else list(islice(rows, first, after))


def _endpoint(report: Report) -> type[Endpoint]:
    def get(self: Endpoint) -> dict[str, Any]:
        return _answer(self, report)

    get.__doc__ = report.about
    named = report.name.title().replace(" ", "").replace("-", "")
    decorated = reports(ReportTableOut, queries=_queries(report), names_others=True)(get)
    return type(f"{named}Report", (Endpoint,), {"endpoint": f"report-{report.code}", "get": decorated})


def addresses() -> list[URLPattern]:
    """One address a report, so that each says by itself what it may be asked and whom it opens to."""
    return [
        at(f"reports/{report.code}", _endpoint(report)) for report in REPORTS.values() if not report.has_own_address
    ]
