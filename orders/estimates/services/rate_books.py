"""Writes of rate books: draft, copy, put in force, retire, discard. Their rates are written in rates.py."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from estimating.rate_book import RateBook as Rates
from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.rows import row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates import convert
from orders.estimates.models import Method, RateBook
from orders.estimates.services.rates import draft_only, rates_store, rows_checked

NOT_IN_FORCE = "The rate book was not put in force."


class BookLacksMethods(WrongState):
    """Open prescriptions are by methods that the book has no rates for; they could no longer be estimated."""

    code = "book_lacks_methods"
    title = "The rate book lacks methods that open work needs"


@writing()
def rate_book_draft(
    *,
    name: str,
    rows: Sequence[Mapping[str, str]],
    standard_crew: Mapping[str, int],
    skill_roles: Mapping[str, str],
    crew_kind: str = "staff",
    notes: str = "",
    stamp: Stamp,
) -> RateBook:
    """A draft from rows of text; a row that cannot be used is named and nothing is kept."""
    checked = rows_checked(rows)
    book = _draft_make(
        name=name,
        crew_kind=crew_kind,
        standard_crew=dict(standard_crew),
        skill_roles=dict(skill_roles),
        notes=notes,
    )
    rates_store(book, checked)
    told = {"name": name, "crew_kind": crew_kind, "rates": len(checked)}
    change_record(stamp=stamp, verb="rate_book_draft", entity=book, after=told)
    return book


@writing()
def rate_book_copy(*, book: RateBook, name: str = "", crew_kind: str = "", stamp: Stamp) -> RateBook:
    """A new draft with the rates of any edition, to change; name and kind of crew are kept unless others are given."""
    copy = _draft_make(
        name=name or book.name,
        crew_kind=crew_kind or book.crew_kind,
        standard_crew=book.standard_crew,
        skill_roles=book.skill_roles,
        notes=book.notes,
    )
    rows = convert.rate_rows(book)
    rates_store(copy, rows)
    told = {"name": copy.name, "edition": copy.edition, "copied_from": str(book), "rates": len(rows)}
    change_record(stamp=stamp, verb="rate_book_copy", entity=copy, after=told)
    return copy


def _draft_make(*, name: str, **values: Any) -> RateBook:
    last = RateBook.objects.filter(name=name).order_by("-edition").first()
    return RateBook.objects.create(name=name, edition=last.edition + 1 if last else 1, **values)


@writing()
def rate_book_edit(*, book: RateBook, values: Mapping[str, Any], expected: int, stamp: Stamp) -> RateBook:
    """Change a draft's standard crew, the roles of its skills, or its notes."""
    draft_only(book)
    return row_edit(book, stamp=stamp, verb="rate_book_edit", expected=expected, values=dict(values))


@writing()
def rate_book_discard(*, book: RateBook, expected: int | None = None, stamp: Stamp) -> None:
    """Throw a draft away, rates and all. Nothing was ever estimated by it; the record says what it was."""
    draft_only(book)
    version_bump(book, expected=expected)
    gone = {"name": book.name, "edition": book.edition, "rates": book.rates.count()}
    change_record(stamp=stamp, verb="rate_book_discard", entity=book, before=gone)
    RateBook.objects.filter(pk=book.pk).delete()


@writing()
def rate_book_put_in_force(
    *, book: RateBook, from_day: date, needed_methods: Collection[str] = (), stamp: Stamp
) -> RateBook:
    """The draft takes over from the book that was in force for its kind of crew, which retires the day before.

    `needed_methods` are the codes of methods that open prescriptions are by: a book without rates for one of them is
    refused.
    """
    if book.state != "draft":
        raise WrongState(f"{book} is {book.get_state_display().lower()}; only a draft can be put in force.")
    draft_only(book)
    known = convert.rates_checked(convert.rate_rows(book))
    _usable_check(book, known, from_day)
    _methods_check(book, known, needed_methods)
    for old in RateBook.objects.filter(crew_kind=book.crew_kind, state="in_force"):
        _make_way(old, from_day, stamp)
    version_bump(book, expected=None, state="in_force", in_force_from=from_day)
    told = {"state": "in_force", "in_force_from": from_day.isoformat()}
    change_record(stamp=stamp, verb="rate_book_put_in_force", entity=book, after=told)
    return book


@writing()
def rate_book_retire(*, book: RateBook, last_day: date, stamp: Stamp) -> RateBook:
    """Take a book out of force without another in its place: its kind of crew cannot be estimated for any more."""
    if book.state != "in_force":
        raise WrongState(f"{book} is {book.get_state_display().lower()}; only a book in force can retire.")
    if book.in_force_from is not None and last_day < book.in_force_from:
        message = f"is before the book's first day, {book.in_force_from}"
        raise Invalid("The rate book was not retired.", [FieldError("last_day", message)])
    _retire(book, last_day, stamp)
    return book


def _make_way(old: RateBook, from_day: date, stamp: Stamp) -> None:
    if old.in_force_from is not None and from_day < old.in_force_from:
        message = f"is before the first day of {old}, which holds from {old.in_force_from}"
        raise Invalid(NOT_IN_FORCE, [FieldError("from_day", message)])
    _retire(old, from_day - timedelta(days=1), stamp)


def _retire(book: RateBook, last_day: date, stamp: Stamp) -> None:
    version_bump(book, expected=None, state="retired", in_force_until=last_day)
    told = {"state": "retired", "in_force_until": last_day.isoformat()}
    change_record(stamp=stamp, verb="rate_book_retire", entity=book, after=told)


def _usable_check(book: RateBook, known: Rates, from_day: date) -> None:
    """Somebody with a standard rate does the work of every skill, and the day adds up."""
    priced = convert.role_rates(book, from_day)
    roles = {
        **dict.fromkeys(book.standard_crew, "standard_crew"),
        **dict.fromkeys(book.skill_roles.values(), "skill_roles"),
    }
    skills = {step.skill for steps in known.steps.values() for step in steps}
    errors = [
        FieldError("skill_roles", f"names no role for work of skill {skill!r}")
        for skill in sorted(skills - set(book.skill_roles))
    ]
    errors += [
        FieldError(field, f"names the role {role!r}, which has no standard rate on {from_day}")
        for role, field in sorted(roles.items())
        if role not in priced
    ]
    if errors:
        raise Invalid(NOT_IN_FORCE, errors)
    convert.crew_day_checked(book, known)


def _methods_check(book: RateBook, known: Rates, needed: Collection[str]) -> None:
    lacking = sorted(set(needed) - set(known.steps))
    if lacking:
        names = ", ".join(lacking)
        raise BookLacksMethods(
            f"{book} has no rates for {names}, by which open work is to be done.", data={"methods": lacking}
        )
    licensed = Method.objects.filter(uses_herbicide=True) | Method.objects.exclude(qualification=None)
    barred = (
        sorted(set(licensed.values_list("code", flat=True)) & set(known.steps))
        if book.crew_kind == "volunteers"
        else []
    )
    if barred:
        message = f"has rates for {', '.join(barred)}: herbicide, or work that needs a license or training"
        raise Invalid(f"{NOT_IN_FORCE} Volunteers are not planned for such work here.", [FieldError("method", message)])
