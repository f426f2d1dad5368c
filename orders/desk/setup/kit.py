"""What the pages of setting up share: a list of rows, and a page that edits one. Each kind has its own small module
with its form and its verbs; here is only what all of them do alike.

A list: sorted, searched and cut by the address, paged, as CSV with `?file=csv`, and told what it is where it is empty.
An edit page: the form with help beside each field, what it is for, refusals at their field, a version that somebody
else changed told as that, what else may be done (`Act`), and the row's own history.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Model, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from orders.common.clock import now
from orders.common.errors import FieldError, Refusal, VersionMismatch
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable, headings, ordering, sort_asked
from orders.desk.forms import LABEL_CHARACTERS
from orders.desk.list_file import list_file
from orders.desk.navigation import Link
from orders.desk.setup.history import history_of
from orders.desk.views.pages import tried

ROWS_A_PAGE = 50
form_page = require_http_methods(["GET", "HEAD", "POST"])


def stamped(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


def version_field() -> forms.IntegerField:
    """The version that the form was made from; it travels hidden."""
    return forms.IntegerField(required=False, widget=forms.HiddenInput)


@dataclass(frozen=True)
class Cell:
    """A cell that is more than its text: a link, second words below it, a mark (good, wait, bad, off)."""

    text: str
    address: str = ""
    quiet: str = ""
    state: str = ""


@dataclass(frozen=True)
class Column(Sortable):
    """A column of a list: what `Sortable` says (heading, field to sort by, is_number), and what a row shows in it."""

    cell: Callable[[Any], Cell | str] = str


@dataclass(frozen=True)
class Cut:
    """A filter of a list: (value, words) pairs to choose from, the first of which is usual; and what it leaves."""

    name: str
    label: str
    choices: Sequence[tuple[str, str]]
    rows: Callable[[QuerySet[Any], str], QuerySet[Any]]


def in_use_cut(flag: str = "is_active") -> Cut:
    """Rows in use, as usual; or those that were ended; or all."""
    kept = {"": {flag: True}, "ended": {flag: False}, "all": {}}
    choices = [("", "In use"), ("ended", "No longer in use"), ("all", "All")]
    return Cut("shown", "Show", choices, lambda rows, value: rows.filter(**kept[value]))


@dataclass(frozen=True)
class Listing:
    """A list page. The first column is the row's name. `searched` are the fields that the search looks in."""

    title: str
    about: str  # one or two sentences under the title
    purpose: str  # what it is and what for, where there is none yet
    columns: Mapping[str, Column]
    usual: str  # the order without an asked one: a column's key, or "-key"
    searched: tuple[str, ...] = ()
    cuts: tuple[Cut, ...] = ()
    new: str = ""  # an address; empty where the reader may not add
    new_words: str = "Add one"
    offered: str = ""  # an address where what many programs begin with is taken in, if there is such a page
    chips: Sequence[Link] = ()  # neighbors of this page
    notices: Sequence[str] = ()  # what is wrong or to be known, above the rows
    above: str = ""  # a template of your own above the table
    more: Mapping[str, Any] = field(default_factory=dict)  # what it is given


class ListForm(forms.Form):
    """What stands in a list's address: the search and the cuts."""

    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Search")

    def __init__(self, data: Any, listing: Listing) -> None:
        super().__init__(data)
        if not listing.searched:
            del self.fields["q"]
        for cut in listing.cuts:
            self.fields[cut.name] = forms.ChoiceField(choices=cut.choices, required=False, label=cut.label)

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data.values())


def list_shown(request: HttpRequest, listing: Listing, rows: QuerySet[Any]) -> HttpResponse:
    """The list of `rows` as its address asks for it; as CSV where the address says `file=csv`."""
    form = ListForm(request.GET, listing)
    form.is_valid()  # what an address asks for and a list does not have is as if it was not asked for
    sort = sort_asked(listing.columns, request.GET.get("sort", ""), listing.usual)
    found = _found(rows, listing, form.cleaned_data).order_by(*ordering(listing.columns, sort))
    if request.GET.get("file") == "csv":
        return _file(listing, found)
    shown = Paginator(found, ROWS_A_PAGE).get_page(request.GET.get("page"))
    told = {
        "listing": listing,
        "form": form,
        "sort": "" if sort == listing.usual else sort,
        "headings": headings(listing.columns, sort, request.GET),
        "rows": shown,
        "lines": [_line(listing, row) for row in shown],
        "file": _file_address(request),
        **listing.more,
    }
    return render(request, "desk/setup/list.html", told)


def _found(rows: QuerySet[Any], listing: Listing, told: Mapping[str, str]) -> QuerySet[Any]:
    for cut in listing.cuts:
        rows = cut.rows(rows, told.get(cut.name, ""))
    for word in told.get("q", "").split():
        wanted = Q()
        for name in listing.searched:
            wanted |= Q(**{f"{name}__icontains": word})
        rows = rows.filter(wanted)
    return rows


def _line(listing: Listing, row: Any) -> list[tuple[Column, Cell]]:
    cells = [(column, column.cell(row)) for column in listing.columns.values()]
    return [(column, Cell(cell) if isinstance(cell, str) else cell) for column, cell in cells]


def _file_address(request: HttpRequest) -> str:
    asked = request.GET.copy()
    asked.pop("page", None)
    asked["file"] = "csv"
    return f"?{asked.urlencode()}"


def _file(listing: Listing, rows: QuerySet[Any]) -> HttpResponse:
    """All rows that the list of the same address shows, whatever page of them ."""
    columns = [column.heading for column in listing.columns.values()]
    lines = ([_plain(cell) for _, cell in _line(listing, row)] for row in rows)
    return list_file("-".join(listing.title.lower().split()), columns, lines)


def _plain(cell: Cell) -> str:
    return f"{cell.text} ({cell.quiet})" if cell.quiet and cell.text else cell.text or cell.quiet


@dataclass(frozen=True)
class Act:
    """Something else that may be done with the row: a button of its own that posts to `address`, such as taking it out
    of use. The form is posted with the row's version and, where `asks_why`, a reason."""

    words: str
    address: str
    about: str = ""
    asks_why: bool = False


class ActForm(forms.Form):
    version = version_field()
    reason = forms.CharField(required=False, max_length=200, label="Why")


def use_act(row: Any, name: str, about: str) -> Act:
    """Taking a row out of use, or putting it back; its addresses are `name-deactivate` and `name-activate`."""
    if row.is_active:
        return Act("Take out of use", reverse(f"{name}-deactivate", args=[row.public_id]), about)
    return Act("Put back in use", reverse(f"{name}-activate", args=[row.public_id]))


@dataclass(frozen=True)
class EditPage:
    """A page with one form. `row` is what it edits (its history is shown); without, something new is added."""

    title: str
    button: str
    back: str  # an address
    back_words: str
    purpose: str  # what this is for, in a panel beside the form
    row: Any = None
    acts: Sequence[Act] = ()
    notices: Sequence[str] = ()  # chance of trouble, told in place
    cautions: Sequence[str] = ()  # where somebody may be hurt
    chips: Sequence[Link] = ()
    trail: bool = True  # the way back over the set-up guide
    after: str = ""  # an address to go to when it is done; `back` where it is empty
    below: str = ""  # a template of your own under the form
    modules: str = ""  # a template of your own with the page's modules
    more: Mapping[str, Any] = field(default_factory=dict)  # what they are given
    template: str = "desk/setup/form.html"  # one of your own that extends it: its blocks are `fields` and `buttons`


def edit_done(request: HttpRequest, words: EditPage, form: Any, write: Callable[[], str]) -> HttpResponse:
    """An edit page's whole course: shown, refused, or written and told; `write` returns what is told then."""
    refusal = None
    if form.is_bound and form.is_valid():
        told: list[str] = []
        refusal = tried(lambda: told.append(write()))
        if refusal is None:
            messages.success(request, told[0])
            return redirect(words.after or words.back)
    return edit_shown(request, words, form, refusal)


def edit_shown(request: HttpRequest, words: EditPage, form: Any, refusal: Refusal | None = None) -> HttpResponse:
    """What the service refuses stands at the field that it names; what names none stands above the form."""
    left = refusal_placed(form, refusal) if refusal else []
    wrong = form is not None and form.is_bound and not form.is_valid()
    told = {
        "words": words,
        "form": form,
        "refusal": refusal,
        "left": left,
        "is_outdated": isinstance(refusal, VersionMismatch),
        "history": [] if words.row is None or "history" in words.more else history_of(words.row, form),
        **words.more,
    }
    return render(request, words.template, told, status=refusal.status if refusal else 400 if wrong else 200)


def refusal_placed(form: Any, refusal: Refusal) -> list[FieldError]:
    """Put each error at its field of the form; returns those that have none there."""
    left = []
    for error in refusal.errors:
        named = error.field.split(".")[0]
        if form is not None and form.is_bound and named in form.fields and not form.fields[named].widget.is_hidden:
            form.add_error(named, error.message)
        else:
            left.append(error)
    return left


def act_done(
    request: HttpRequest, back: str, write: Callable[[int, str], str], shown: Callable[[Refusal], HttpResponse]
) -> HttpResponse:
    """What an `Act` posts to: `write` takes the version and the reason and returns what is told; a refusal is shown by
    the edit page that the button stands on."""
    form = ActForm(request.POST)
    told: list[str] = []
    values = form.cleaned_data if form.is_valid() else {}
    refusal = tried(lambda: told.append(write(values.get("version") or 0, values.get("reason", ""))))
    if refusal is not None:
        return shown(refusal)
    messages.success(request, told[0])
    return redirect(back)


def none_to_choose(form: forms.Form, name: str, told: str) -> list[str]:
    """A notice where a field has nothing to choose from yet."""
    return [] if list(getattr(form.fields[name], "choices", [])) else [told]


def choices_of(rows: Iterable[Model], none: str = "") -> list[tuple[str, str]]:
    """Rows as choices by their public id; `none` is the words of choosing none, where that may be."""
    listed = [(str(row.public_id), str(row)) for row in rows]  # type: ignore[attr-defined]
    return [("", none), *listed] if none else listed


def below_done(
    request: HttpRequest, words: EditPage, told: Mapping[str, Any], form: Any, second: Any, write: Callable[[], str]
) -> HttpResponse:
    """The course of a second form that stands under the first on the same page; `told` holds it for its template."""
    refusal = None
    if second.is_valid():
        done: list[str] = []
        refusal = tried(lambda: done.append(write()))
        if refusal is None:
            messages.success(request, done[0])
            return redirect(words.after or words.back)
    if refusal is not None and second.is_bound:
        refusal.errors[:] = refusal_placed(second, refusal)
    shown = edit_shown(request, replace(words, more={**words.more, **told}), form, refusal)
    shown.status_code = refusal.status if refusal else 400
    return shown
