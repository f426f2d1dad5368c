"""Sprayer calibration, mixing a load and acid equivalent: each answer with the formula and the figures behind it."""

from typing import Any

from rest_framework import serializers

from estimating.errors import EstimatingError
from estimating.sheets import SHEETS, sheet_filled
from estimating.worksheet import Entry, Sheet
from orders.api.base import Endpoint, queries_check
from orders.api.operations import Queries, reports
from orders.api.shapes import Out
from orders.common.errors import FieldError, Invalid


class FigureOut(Out):
    name = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again
    value = serializers.FloatField()
    unit = serializers.CharField(allow_blank=True)
    metric = serializers.FloatField(allow_null=True)
    metric_unit = serializers.CharField(allow_blank=True)


class LineOut(Out):
    what = serializers.CharField()
    formula = serializers.CharField()
    filled = serializers.CharField(help_text="The formula with the figures that were asked with.")
    result = serializers.CharField()


class SheetOut(Out):
    answers = FigureOut(many=True)
    working = LineOut(many=True)
    steps = serializers.ListField(child=serializers.CharField(), help_text="The order of mixing, with amounts.")
    refusal = serializers.CharField(allow_blank=True, help_text="Why it must not be done as asked; empty where it may.")
    cautions = serializers.ListField(child=serializers.CharField())
    sources = serializers.ListField(child=serializers.CharField())


def entry_schema(entry: Entry) -> dict[str, Any]:
    if entry.words:
        return {"type": "string", "enum": list(entry.words)}
    return {"type": "integer" if entry.whole else "number", "minimum": entry.low, "maximum": entry.high}


def _about(entry: Entry, sheets: list[str]) -> str:
    unit = f", {entry.unit}" if entry.unit else ""
    usual = f" {entry.usual} where it is left out." if entry.usual is not None else ""
    with_sheets = f" With {' or '.join(sheets)}." if sheets else ""
    return f"{entry.label}{unit}. {entry.help}{usual}{with_sheets}".strip()


def queries_of(ways: dict[str, str], chooser: str = "") -> Queries:
    """What an address takes: the word that chooses the sheet where there are several, then the entries of all."""
    found: dict[str, tuple[Entry, list[str]]] = {}
    for way, code in ways.items():
        for entry in SHEETS[code].entries:
            found.setdefault(entry.name, (entry, []))[1].append(f"{chooser}={way}")
    chosen = {"type": "string", "enum": list(ways)}
    head: Queries = ((chooser, chosen, "Which way to calculate; needed."),) if chooser else ()
    return head + tuple(
        (name, entry_schema(entry), _about(entry, sheets if 0 < len(sheets) < len(ways) else []))
        for name, (entry, sheets) in found.items()
    )


class SheetEndpoint(Endpoint):
    """A calculation: `ways` by the word of `chooser`, or the only one."""

    ways: dict[str, str]
    chooser = ""

    def filled(self) -> Sheet:
        given = {name: str(value) for name, value in self.request.query_params.items()}
        code = self.ways.get(given.pop(self.chooser, "")) if self.chooser else next(iter(self.ways.values()))
        if code is None:
            raise _wrong(self.chooser, f"must be one of {', '.join(self.ways)}")
        queries_check(self.request, {self.chooser, *(entry.name for entry in SHEETS[code].entries)} - {""})
        try:
            return sheet_filled(code, given)
        except EstimatingError as error:
            raise _wrong(error.field or "query", error.message) from error


def _wrong(name: str, message: str) -> Invalid:
    return Invalid("This cannot be calculated as asked.", [FieldError(name, message)])


class Sprayer(SheetEndpoint):
    endpoint = "calculation-sprayer"
    ways = {"plot": "plot", "course": "course"}
    chooser = "way"

    @reports(SheetOut, queries=queries_of({"plot": "plot", "course": "course"}, "way"))
    def get(self) -> Sheet:
        """Spray volume from a catch: on a plot (1/128 acre or any other), or along a timed course."""
        return self.filled()


class MixLoad(SheetEndpoint):
    endpoint = "calculation-mix-load"
    ways = {"percent": "percent", "rate": "rate"}
    chooser = "by"

    @reports(SheetOut, queries=queries_of({"percent": "percent", "rate": "rate"}, "by"))
    def get(self) -> Sheet:
        """Product and water for a tank, the loads for some ground, and the order of mixing."""
        return self.filled()


class AcidEquivalent(SheetEndpoint):
    endpoint = "calculation-acid-equivalent"
    ways = {"acid": "acid"}

    @reports(SheetOut, queries=queries_of({"acid": "acid"}))
    def get(self) -> Sheet:
        """Acid equivalent on an acre, with earlier work, against the label's limit."""
        return self.filled()
