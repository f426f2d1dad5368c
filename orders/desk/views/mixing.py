"""Sprayer and mix: calibrate, mix a load, acid equivalent. All that was entered stands in the address."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.errors import EstimatingError
from estimating.sheets import SHEETS, entry_errors, sheet_filled
from estimating.worksheet import Entry, Sheet, typed
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.desk.navigation import EVERY_ROLE, page_opens_to
from orders.desk.views.pages import page

USUAL_SHEET = "plot"


@dataclass(frozen=True)
class Field:
    """An entry as the form shows it: what stands in it, and what is wrong with that."""

    entry: Entry
    value: str
    error: str

    @property
    def id(self) -> str:
        return f"id_{self.entry.name}"

    @property
    def described_by(self) -> str:
        """Ids of the help and of the error, for aria-describedby."""
        told = {"help": self.entry.help, "error": self.error}
        return " ".join(f"{self.id}_{name}" for name, text in told.items() if text)

    @property
    def words(self) -> list[tuple[str, str]]:
        return list(self.entry.words.items())


@require_safe
@page
def mixing_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, "The page of sprayers and mixes")
    code = request.GET.get("sheet", USUAL_SHEET)
    if code not in SHEETS:
        raise Invalid("There is no such sheet.", [FieldError("sheet", f"must be one of {', '.join(SHEETS)}")])
    kind = SHEETS[code]
    given = {entry.name: str(request.GET[entry.name]) for entry in kind.entries if entry.name in request.GET}
    sheet, errors = _filled(code, given) if given else (None, {})
    fields = [Field(entry, given.get(entry.name, _start(entry)), errors.get(entry.name, "")) for entry in kind.entries]
    named = {entry.name for entry in kind.entries}
    told = {
        "code": code,
        "kind": kind,
        "sheets": [(other, found.title) for other, found in SHEETS.items()],
        "fields": fields,
        "wrong": [field for field in fields if field.error],
        "wrong_elsewhere": [text for name, text in errors.items() if name not in named],
        "sheet": sheet,
    }
    return render(request, "desk/mixing.html", told, status=400 if errors else 200)


def _filled(code: str, given: dict[str, str]) -> tuple[Sheet | None, dict[str, str]]:
    """The sheet, or what is wrong with each entry; what is wrong between entries comes when each is right by itself."""
    errors = entry_errors(code, given)
    if errors:
        return None, errors
    try:
        return sheet_filled(code, given), {}
    except EstimatingError as wrong:
        return None, {wrong.field or "": wrong.message}


def _start(entry: Entry) -> str:
    """What an entry holds before anything is entered."""
    if entry.usual is None:
        return ""
    return entry.usual if isinstance(entry.usual, str) else typed(entry.usual)
