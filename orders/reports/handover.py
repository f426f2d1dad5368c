"""All that is handed over of a month, in one archive: its reports in three forms, its state, its proof, and the sum of
each file. The same rows give the same CSV files, byte for byte."""

import zipfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from django.conf import settings

from orders.common.runs import Worker
from orders.costs.models import Period
from orders.reports.about import About, about_of, proof_words
from orders.reports.asking import month_read
from orders.reports.catalog import REPORTS, Query, report_open_to, report_table
from orders.reports.files import Written, file_sha256, table_write
from orders.reports.models import ExportRun
from orders.reports.write_pdf import TooLongForPaper

FORMATS = ("csv", "xlsx", "pdf")
MANIFEST = "MANIFEST.sha256"
ZIPPED_ON = (1980, 1, 1, 0, 0, 0)  # the first day that the format knows: no clock in the archive

README = """\
{program}: the books of {month}

Made {made}.

What is here
{files}

Each report is here as CSV (for other programs: commas, a heading row, UTF-8), as XLSX (a workbook whose totals are
formulas) and as PDF (for paper and signatures). Money is in dollars, hours are decimal hours.

The last row of a table with totals is the total. Cost is what was posted to the month; what is planned for a day of the
month stands beside it and may change after the month is closed.

period.txt says whether the month is open or closed, who closed it and when. proof.txt says how the ledger was last
proved. {manifest} holds the SHA-256 sum of every other file; to check them all:

    sha256sum -c {manifest}
{left_out}"""


@dataclass(frozen=True)
class Piece:
    name: str
    report: str
    query: Query
    words: str


PIECES = (
    Piece("cost-by-fund-and-category", "cost", {"by": "fund", "and": "category"}, "Cost by fund and category"),
    Piece("cost-by-site-and-method", "cost", {"by": "site", "and": "method"}, "Cost by site and method"),
    Piece("ledger", "ledger", {}, "Every row of the ledger"),
    Piece("trial-balance", "trial-balance", {}, "Debits and credits of each account"),
    Piece("held-charges", "held", {}, "Charges that wait for a decision"),
    Piece("match", "match", {}, "In-kind match"),
    Piece("spending", "spending", {}, "Budgets and what is left of them, on the day this was made"),
)


def handover_write(run: ExportRun, folder: Path, worker: Worker) -> Written:
    month = month_read(run.query["month"])
    about = about_of(run.asked_by, run.asked_at)
    inside = folder / "inside"
    inside.mkdir()
    pieces = [piece for piece in PIECES if piece.report in REPORTS]
    rows = 0
    left_out: list[str] = []
    for number, piece in enumerate(pieces):
        worker.progress(number, len(pieces), piece.words)
        rows += _piece_write(run, piece, month, inside, about, left_out)
    (inside / "period.txt").write_text(period_words(month), encoding="utf-8")
    (inside / "proof.txt").write_text(f"{proof_words()}\n", encoding="utf-8")
    (inside / "README.txt").write_text(_readme(pieces, month, about, left_out), encoding="utf-8")
    names = sorted(path.name for path in inside.iterdir())
    sums = [f"{file_sha256(inside / name)}  {name}\n" for name in names]
    (inside / MANIFEST).write_text("".join(sums), encoding="utf-8")
    path = folder / f"month-end-{month:%Y-%m}.zip"
    _zip(inside, path)
    return Written(path, rows, path.stat().st_size, file_sha256(path))


def _piece_write(run: ExportRun, piece: Piece, month: date, inside: Path, about: About, left_out: list[str]) -> int:
    """In every form that it fits; how many rows it has."""
    assert run.asked_by is not None  # looked at by the job
    actor, rows = run.asked_by, 0
    report_open_to(actor, piece.report)
    query = {**piece.query, "month_from": f"{month:%Y-%m}", "month_to": f"{month:%Y-%m}"}
    for file_format in FORMATS:
        try:
            rows = table_write(
                report_table(actor, piece.report, query), file_format, inside, name=piece.name, about=about
            ).rows
        except TooLongForPaper:
            (inside / f"{piece.name}.pdf.part").unlink(missing_ok=True)
            left_out.append(f"{piece.name}.pdf")
    return rows


def period_words(month: date) -> str:
    """The state of a month, and each step that led to it."""
    period = Period.objects.filter(first_day=month).first()
    if period is None:
        return f"{month:%B %Y} is open. Nobody has asked to close it.\n"
    lines = [f"{month:%B %Y}: {period.get_state_display()}.", ""]
    if period.rows_sha256:
        lines += [f"Rows when it was closed: {period.rows_count}", f"SHA-256 over them: {period.rows_sha256}", ""]
    for step in period.steps.select_related("by").order_by("id"):
        who = step.outside_name or (step.by.get_full_name() or step.by.get_username() if step.by else "the program")
        reason = f" ({step.reason})" if step.reason else ""
        lines.append(f"{step.at:%Y-%m-%d %H:%M} UTC  {step.get_kind_display()}: {who}{reason}")
    return "\n".join(lines).rstrip() + "\n"


def _readme(pieces: list[Piece], month: date, about: About, left_out: list[str]) -> str:
    width = max(len(piece.name) for piece in pieces)
    files = "\n".join(f"    {piece.name:{width}}  {piece.words}" for piece in pieces)
    words = f"\nToo long for paper and left out: {', '.join(left_out)}.\n" if left_out else ""
    return README.format(
        program=settings.PROGRAM_NAME,
        month=f"{month:%B %Y}",
        made=about.made,
        files=files,
        manifest=MANIFEST,
        left_out=words,
    )


def _zip(inside: Path, path: Path) -> None:
    """Sorted, and with the same date on every file, so that only what is in them counts."""
    part = path.with_suffix(".part")
    with zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in sorted(inside.iterdir()):
            entry = zipfile.ZipInfo(file.name, ZIPPED_ON)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            with file.open("rb") as source, archive.open(entry, "w", force_zip64=True) as target:
                while block := source.read(1024 * 1024):
                    target.write(block)
            file.unlink()
    inside.rmdir()
    part.replace(path)
