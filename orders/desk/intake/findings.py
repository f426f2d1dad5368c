"""What an import found in its rows, as the pages list it and as a file."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.utils.http import content_disposition_header

from orders.desk.intake.words import FACTS
from orders.reports.write_csv import texts_csv
from orders.sites.geofiles.vocabulary import base_and_group
from orders.sites.models import SurveyImport, TrialRow

ROWS_A_PAGE = 25
LEVELS = (("", "All"), ("error", "Errors"), ("warning", "To look at"))
HEADINGS = ("level", "row", "line", "field", "code", "message")
OF_A_FINDING = ("level", "row", "line", "about", "code", "message")


@dataclass(frozen=True)
class Finding:
    """One thing found; `cells` are the row's own values, where they are still kept."""

    level: str
    row: int | None
    line: int | None
    code: str
    message: str
    about: str
    cells: Mapping[str, str] = field(default_factory=dict)

    @property
    def is_error(self) -> bool:
        return self.level == "error"

    @property
    def fact(self) -> str:
        """What the field is called on the pages."""
        base, group = base_and_group(self.about)
        name = FACTS[base].label if base in FACTS else self.about.capitalize()
        return f"{name}, plant {group}" if group else name


def findings_of(imported: SurveyImport, level: str = "") -> list[Finding]:
    """Of the file as a whole first, then row by row; errors of a row before what should be looked at."""
    found = [*_at("error", imported.errors, level), *_at("warning", imported.warnings, level)]
    return sorted(found, key=lambda each: (each.row or 0, not each.is_error))


def _at(level: str, told: Iterable[Mapping[str, Any]], wanted: str) -> list[Finding]:
    if wanted and wanted != level:
        return []
    return [
        Finding(level, each["row"], each["line"], each["code"], each["message"], about=each["field"]) for each in told
    ]


def findings_told(imported: SurveyImport, level: str = "", page: str | None = None) -> dict[str, Any]:
    """What the list of findings is shown with."""
    level = level if level in dict(LEVELS) else ""
    shown = Paginator(findings_of(imported, level), ROWS_A_PAGE).get_page(page)
    return {
        "imported": imported,
        "findings": shown,
        "finding_lines": _with_cells(imported, list(shown)),
        "level": level,
        "levels": LEVELS,
        "errors_count": len(imported.errors),
        "warnings_count": len(imported.warnings),
    }


def _with_cells(imported: SurveyImport, found: Sequence[Finding]) -> list[Finding]:
    numbers = {each.row for each in found if each.row}
    rows = TrialRow.objects.filter(imported=imported, number__in=numbers).order_by("number")
    cells = dict(rows.values_list("number", "cells"))
    return [replace(each, cells=cells.get(each.row or 0, {})) for each in found]


def findings_csv(imported: SurveyImport) -> str:
    """One line a finding, with the row's own values behind it, to be mended in a spreadsheet."""
    found = findings_of(imported)
    numbers = {each.row for each in found if each.row}
    rows = TrialRow.objects.filter(imported=imported, number__in=numbers).order_by("number")
    cells = dict(rows.values_list("number", "cells"))
    columns = list(dict.fromkeys(name for each in cells.values() for name in each))
    lines = [_line(each, cells.get(each.row or 0, {}), columns) for each in found]
    return texts_csv([*HEADINGS, *columns], lines)


def _line(found: Finding, cells: Mapping[str, str], columns: Sequence[str]) -> list[str]:
    return [*(_text(getattr(found, name)) for name in OF_A_FINDING), *(cells.get(name, "") for name in columns)]


def _text(value: Any) -> str:
    return "" if value is None else str(value)


def findings_file(imported: SurveyImport) -> HttpResponse:
    reply = HttpResponse(findings_csv(imported), content_type="text/csv; charset=utf-8")
    name = f"{imported.file_name.rpartition('.')[0] or imported.file_name} findings.csv"
    reply.headers["Content-Disposition"] = str(content_disposition_header(True, name))
    return reply
