"""One reminder run from the terminal, now or as of a chosen instant."""

from datetime import datetime
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.common.clock import now
from orders.reminders.selectors import deadlines_owed
from orders.reminders.services import Reminded, reminders_preview, reminders_run


def _instant(text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError as error:
        raise CommandError(f"--at: {text!r} is no ISO instant, such as 2027-08-04T12:00:00+00:00.") from error
    if at.tzinfo is None:
        raise CommandError(f"--at: {text} does not say in which zone; end it with Z or an offset such as -04:00.")
    return at


class Command(BaseCommand):
    help = "Compute the deadlines, make the notices that are due, and mail them."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--at", help="As of this ISO instant with its offset, instead of now.")
        parser.add_argument("--dry-run", action="store_true", help="Show what would be done; write and mail nothing.")
        parser.add_argument(
            "--list", action="store_true", help="Show what is owed, the soonest first; do nothing else."
        )

    def handle(self, *args: Any, at: str | None, dry_run: bool, **options: Any) -> None:
        if options["list"]:
            for deadline in deadlines_owed():
                self.stdout.write(
                    f"{deadline.due_on}  {deadline.kind:<8}{deadline.get_state_display()}: {deadline.title}"
                )
        elif dry_run:
            self._show(reminders_preview(at=_instant(at) if at else now()))
            self.stdout.write("Dry run: nothing was written, nothing was mailed.")
        elif at:
            self._show(reminders_run(at=_instant(at)))
        else:
            self._show(reminders_run(at=now(), clock=now))

    def _show(self, done: Reminded) -> None:
        for year in done.refreshed:
            self.stdout.write(
                f"{year.year}: {year.added} deadlines added, {year.changed} changed, {year.ended} no longer owed, "
                f"{year.unchanged} as they were; {year.no_range} without a fruiting range"
            )
        owed = done.owed
        self.stdout.write(
            f"other kinds: {owed.added} deadlines added, {owed.changed} changed, {owed.ended} no longer owed, "
            f"{owed.unchanged} as they were"
        )
        for notice in done.notices:
            self.stdout.write(f"{notice.step.code} to {notice.user}: {notice.subject}")
        mail = done.handed_over
        self.stdout.write(
            f"{len(done.notices)} notices made, {mail.sent} mailed, {mail.failed} not taken by the server"
        )
