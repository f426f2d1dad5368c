"""Rate books from the terminal: list, export, copy, import, difference, effect, in-force."""

from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders import flow
from orders.common.clock import now
from orders.common.errors import Refusal, RoleMissing
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR
from orders.common.stamp import Stamp
from orders.estimates.convert import rate_rows
from orders.estimates.rate_csv import rates_csv
from orders.estimates.rate_difference import rate_book_difference
from orders.estimates.selectors import rate_book_named, rate_books
from orders.estimates.services import rate_book_copy, rates_import
from orders.reports.cells import cents_text

Options = dict[str, Any]
BOOK: dict[str, Any] = {
    "help": "Name and edition in one word or in quotes, or staff / volunteers for the one in force."
}


class Command(BaseCommand):
    help = "Look at rate books and change drafts. `manage.py rates STEP --help` tells its words."

    def add_arguments(self, parser: CommandParser) -> None:
        steps = parser.add_subparsers(dest="step", required=True)
        steps.add_parser("list", help="All books, their kind of crew, state and days.")
        steps.add_parser("export", help="Print a book's rates as CSV.").add_argument("book", **BOOK)
        difference = steps.add_parser("difference", help="What changes from one book to another.")
        difference.add_argument("old", **BOOK)
        difference.add_argument("new", **BOOK)
        effect = steps.add_parser("effect", help="What a book would change in the estimates of open work.")
        effect.add_argument("book", **BOOK)
        _writing(steps.add_parser("copy", help="Copy any edition into a new draft."))
        importing = steps.add_parser("import", help="Replace all rates of a draft by those of a CSV file.")
        _writing(importing)
        importing.add_argument("file", type=Path)
        in_force = steps.add_parser("in-force", help="Put a draft in force.")
        _writing(in_force)
        in_force.add_argument("--from", dest="from_day", type=date.fromisoformat, required=True, help="Its first day.")

    def handle(self, *args: Any, step: str, **options: Any) -> None:
        username = options.get("username")
        user = User.objects.filter(username=username).first() if username else None
        if username and user is None:
            raise CommandError(f"There is no user {username}.")
        try:
            for line in STEPS[step](Stamp(by=user, at=now()), options):
                self.stdout.write(line)
        except Refusal as refusal:
            raise CommandError(_words(refusal)) from refusal


def _writing(parser: ArgumentParser) -> None:
    parser.add_argument("--as", dest="username", required=True, help="The user who does it.")
    parser.add_argument("book", **BOOK)


def _words(refusal: Refusal) -> str:
    rows = [f"  {error.field}{f' (row {error.row})' if error.row else ''}: {error.message}" for error in refusal.errors]
    return "\n".join([refusal.detail, *rows])


def _writer_check(stamp: Stamp) -> None:
    if stamp.by is None or not stamp.by.has_role(COORDINATOR, ADMINISTRATOR):
        raise RoleMissing("Rate books are changed by a coordinator or an administrator.")


def _list(stamp: Stamp, options: Options) -> Iterator[str]:
    for book in rate_books():
        until = f" to {book.in_force_until}" if book.in_force_until else ""
        days = f", from {book.in_force_from}{until}" if book.in_force_from else ""
        yield f"{book}: {book.get_crew_kind_display().lower()}, {book.get_state_display().lower()}{days}"


def _export(stamp: Stamp, options: Options) -> Iterator[str]:
    yield rates_csv(rate_rows(rate_book_named(options["book"])))


def _difference(stamp: Stamp, options: Options) -> Iterator[str]:
    found = rate_book_difference(rate_book_named(options["old"]), rate_book_named(options["new"]))
    for method, rows in found.by_method:
        yield method or "all methods"
        for row in rows:
            values = "; ".join(f"{value.column} {value.old or '-'} -> {value.new or '-'}" for value in row.values)
            named = " ".join(word for word in (row.kind, row.step, row.growth_form, row.driver, row.from_value) if word)
            yield f"  {row.change} {named}: {values}"
    yield f"{len(found.rows)} rows differ, {found.same} are the same"


def _effect(stamp: Stamp, options: Options) -> Iterator[str]:
    on = stamp.local_date(settings.PROGRAM_TIME_ZONE)
    effect = flow.rate_book_effect_on_open(book=rate_book_named(options["book"]), on=on)
    for part in (*effect.by_method, effect.total):
        money = f"{cents_text(part.old_cents)} -> {cents_text(part.new_cents)} dollars"
        left_out = f", {part.left_out} without rates" if part.left_out else ""
        yield f"{part.name}: {part.old_hours:.1f} -> {part.new_hours:.1f} h, {money} ({part.rows} estimates{left_out})"
    old, new = effect.old_range, effect.new_range
    yield f"In all, 10 to 90%: {old.low:.0f} to {old.high:.0f} h -> {new.low:.0f} to {new.high:.0f} h"
    if effect.other_prices:
        yield f"{effect.other_prices} of these were made at other prices, which is part of their change."


def _copy(stamp: Stamp, options: Options) -> Iterator[str]:
    _writer_check(stamp)
    yield f"{rate_book_copy(book=rate_book_named(options['book']), stamp=stamp)} is a draft"


def _import(stamp: Stamp, options: Options) -> Iterator[str]:
    _writer_check(stamp)
    book = rate_book_named(options["book"])
    try:
        text = options["file"].read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise CommandError(f"{options['file']} cannot be read: {error}") from error
    rates_import(book=book, text=text, expected=book.version, stamp=stamp)
    yield f"{book} holds {book.rates.count()} rates now"


def _in_force(stamp: Stamp, options: Options) -> Iterator[str]:
    _writer_check(stamp)
    book = rate_book_named(options["book"])
    flow.put_rate_book_in_force(book=book, from_day=options["from_day"], stamp=stamp)
    yield f"{book} is in force from {book.in_force_from}"


STEPS: dict[str, Callable[[Stamp, Options], Iterator[str]]] = {
    "list": _list,
    "export": _export,
    "difference": _difference,
    "effect": _effect,
    "copy": _copy,
    "import": _import,
    "in-force": _in_force,
}
