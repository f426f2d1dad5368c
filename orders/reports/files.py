"""A table as a file, in one of the formats that are had of every report."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from orders.common.errors import FieldError, Invalid
from orders.reports.about import About
from orders.reports.table import Table
from orders.reports.walk import Told, Walk
from orders.reports.write_csv import csv_write
from orders.reports.write_pdf import pdf_write
from orders.reports.write_xlsx import xlsx_write

MEDIA_TYPES = {
    "csv": "text/csv; charset=utf-8; header=present",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "pdf": "application/pdf",
    "zip": "application/zip",
}
BLOCK_BYTES = 1024 * 1024


@dataclass(frozen=True)
class Written:
    path: Path
    rows: int
    size_bytes: int
    sha256: str


def table_write(
    table: Table, file_format: str, folder: Path, *, name: str, about: About, told: Told | None = None
) -> Written:
    """Write `name`.`file_format` into the folder, whole or not at all."""
    if file_format not in _WRITERS:
        raise Invalid("There is no such format.", [FieldError("file_format", f"must be one of {', '.join(_WRITERS)}")])
    path = folder / f"{name}.{file_format}"
    part = path.with_suffix(f".{file_format}.part")
    walk = Walk(table, told)
    _WRITERS[file_format](walk, part, about)
    part.replace(path)
    return Written(path, walk.count, path.stat().st_size, file_sha256(path))


def _csv(walk: Walk, path: Path, about: About) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        csv_write(walk, file)


_WRITERS: dict[str, Callable[[Walk, Path, About], None]] = {"csv": _csv, "xlsx": xlsx_write, "pdf": pdf_write}


def file_blocks(path: Path) -> Iterator[bytes]:
    """Piece by piece, and closed after the last one."""
    with path.open("rb") as file:
        while block := file.read(BLOCK_BYTES):
            yield block


def file_sha256(path: Path) -> str:
    found = hashlib.sha256()
    for block in file_blocks(path):
        found.update(block)
    return found.hexdigest()
