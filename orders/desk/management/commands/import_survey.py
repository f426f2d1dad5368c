"""Import a survey file from the terminal; the work is done in this process."""

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.models.run import CANCELED
from orders.common.stamp import Stamp
from orders.sites.convert import finding_words
from orders.sites.models import SurveyImport
from orders.sites.services.surveys import survey_import_now


class Command(BaseCommand):
    _told = ""
    help = "Import a survey: GeoPackage, zipped Shapefile, GeoJSON, KML, KMZ, GPX, FlatGeobuf or CSV."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--mapping", type=Path, help="A JSON file that says which of its columns are which of ours."
        )
        parser.add_argument("--layer", default="", help="Which layer, where the file has several.")
        parser.add_argument("--dry-run", action="store_true", help="Check and report; add nothing.")
        parser.add_argument(
            "--keep-good-rows", action="store_true", help="Take the good rows even where others are bad."
        )
        parser.add_argument("--as", dest="username", default="", help="The user in whose name it is done.")

    def handle(self, *args: Any, file: Path, mapping: Path | None, username: str, **options: Any) -> None:
        stamp = Stamp(by=_user(username), at=now())
        try:
            imported = survey_import_now(
                data=_bytes(file),
                file_name=file.name,
                mapping_text=_text(mapping) if mapping else "",
                layer=options["layer"],
                dry_run=options["dry_run"],
                keep_good_rows=options["keep_good_rows"],
                stamp=stamp,
                clock=now,
                tell=self._tell,
            )
        except Refusal as refusal:
            raise CommandError(_words(refusal)) from refusal
        self._report(imported)

    def _tell(self, done: int, total: int, note: str) -> None:
        line = f"{note}: {done} of {total}" if total else f"{note} ..."
        if line != self._told:  # a long step is told every second, so that it can be stopped
            self.stdout.write(line)
        self._told = line

    def _report(self, imported: SurveyImport) -> None:
        for found in imported.errors:
            self.stderr.write(finding_words(found))
        for found in imported.warnings:
            self.stdout.write(f"Note: {finding_words(found)}")
        if imported.state == CANCELED:
            raise CommandError("Canceled. Nothing was added.")
        would = "would be " if imported.dry_run else ""
        self.stdout.write(
            f"Rows read {imported.rows_read}, {would}added {imported.rows_added}, known already {imported.rows_known}; "
            f"surveys {imported.surveys_added}, new patches {imported.patches_added}."
        )
        if imported.refused:
            raise CommandError("The file was refused. Nothing was added.")


def _user(username: str) -> User | None:
    if not username:
        return None
    found = User.objects.filter(username=username).first()
    if found is None:
        raise CommandError(f"There is no user {username}.")
    return found


def _bytes(path: Path) -> bytes:
    """The file, or as much of it as shows that it is too large."""
    try:
        with path.open("rb") as file:
            return file.read(settings.SURVEY_FILE_MAX_BYTES + 1)
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}.") from error


def _text(path: Path) -> str:
    try:
        return _bytes(path).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise CommandError(f"{path} is not text in UTF-8.") from error


def _words(refusal: Refusal) -> str:
    return " ".join([refusal.detail, *(f"{error.field}: {error.message}" for error in refusal.errors)])
