"""A report on paper, letter size: its head on every page, "Page 1 of N", and lines to sign at the end.

Rows are drawn as they go by. What is kept is the finished pages, compressed; the number of pages is drawn by a form
that is filled in at the end.
"""

from itertools import chain, islice
from pathlib import Path
from typing import Any

from reportlab.lib.pagesizes import landscape, letter
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from orders.common.errors import Invalid
from orders.reports.about import About
from orders.reports.cells import cell_shown
from orders.reports.table import Column
from orders.reports.walk import Walk

MOST_ROWS = 50_000  # our own choice: some 1,500 pages, which nobody reads on paper
MEASURED_ROWS = 200
WIDE_FROM = 7  # columns: from there on the page lies on its side
FULL_FROM = 14  # columns: from there on the letters are smaller
MOST_LINES = 6  # of one cell
EDGE = 40.0
GAP = 4.0  # points between a cell and its neighbor
RULED = 3.0  # points that a total keeps off the rule above it
SIGNED = ("Prepared by", "Reviewed by", "Approved by")
PAGES = "pages"  # the form that says how many there are
# The standard fonts know Western European text; what they lack is written otherwise, or as a question mark.
WRITTEN = str.maketrans({"≤": "<=", "≥": ">=", "→": "->", "−": "-", "\u202f": " ", "\u2009": " ", "\t": " "})


class TooLongForPaper(Invalid):
    """CSV and XLSX take it."""

    code = "too_long_for_paper"
    title = "Too long for paper"


def pdf_write(walk: Walk, path: Path, about: About) -> None:
    paper = _Paper(walk, path, about)
    paper.write()


class _Paper:
    def __init__(self, walk: Walk, path: Path, about: About) -> None:
        self.walk, self.table, self.about = walk, walk.table, about
        self.size = landscape(letter) if len(self.table.columns) >= WIDE_FROM else letter
        self.points = 6.0 if len(self.table.columns) >= FULL_FROM else 8.0
        self.leading = self.points * 1.25
        self.canvas = Canvas(str(path), pagesize=self.size, invariant=1, pageCompression=1, lang="en")
        self.canvas.setTitle(_written(self.table.title))
        self.canvas.setAuthor(_written(about.made_for))
        self.pages = 0
        self.y = 0.0

    def write(self) -> None:
        rows = self.walk.rows()
        measured = list(islice(rows, MEASURED_ROWS))
        self.widths = self._widths(measured)
        self._page_begin()
        for row in chain(measured, rows):
            if self.walk.count > MOST_ROWS:
                raise TooLongForPaper(
                    f"A PDF holds {MOST_ROWS:,} rows at most. Ask for CSV or XLSX, or narrow it down."
                )
            self._row(row, "Helvetica")
        total = self.walk.total()
        if total is not None:
            self._line(self.y - 1)
            self.y -= RULED
            self._row(total, "Helvetica-Bold")
        if not self.walk.count:
            self._words("There are no rows.", "Helvetica", 9)
        self._end()
        self.canvas.showPage()
        self._pages_fill()
        self.canvas.save()

    def _widths(self, rows: list[tuple[Any, ...]]) -> list[float]:
        """By what the first rows need, brought to the width of the page; words of a heading stay whole if they can."""
        wanted = []
        for place, column in enumerate(self.table.columns):
            texts = [_written(cell_shown(row[place], column.kind)) for row in rows]
            if self.table.total is not None:
                texts.append(_written(cell_shown(self.table.total[place], column.kind)))
            texts += column.heading.split()
            longest = max((stringWidth(text, "Helvetica-Bold", self.points) for text in texts), default=0)
            wanted.append(min(longest + 2 * GAP, 190.0))
        room = self.size[0] - 2 * EDGE
        return [width * room / sum(wanted) for width in wanted]

    def _page_begin(self) -> None:
        self.pages += 1
        self.y = self.size[1] - EDGE
        self._words(self.about.program, "Helvetica", 8)
        self._words(self.table.title, "Helvetica-Bold", 13)
        for line in self.table.told:
            self._words(line, "Helvetica", 8)
        self.canvas.setFont("Helvetica", 8)
        self.canvas.drawString(EDGE, EDGE / 2, _written(f"Made {self.about.made}"))
        self.canvas.drawRightString(self.size[0] - EDGE - 20, EDGE / 2, f"Page {self.pages} of")
        self.canvas.saveState()
        self.canvas.translate(self.size[0] - EDGE - 17, EDGE / 2)
        self.canvas.doForm(PAGES)
        self.canvas.restoreState()
        self.y -= 4
        self._row(tuple(column.heading for column in self.table.columns), "Helvetica-Bold")
        self._line(self.y)
        self.y -= 2

    def _page_turn(self) -> None:
        self.canvas.showPage()
        self._page_begin()

    def _words(self, text: str, font: str, points: float) -> None:
        for line in simpleSplit(_written(text), font, points, self.size[0] - 2 * EDGE):
            self.y -= points * 1.3
            self.canvas.setFont(font, points)
            self.canvas.drawString(EDGE, self.y, line)

    def _line(self, y: float) -> None:
        self.canvas.setLineWidth(0.6)
        self.canvas.line(EDGE, y, self.size[0] - EDGE, y)

    def _row(self, row: tuple[Any, ...], font: str) -> None:
        cells = [
            self._cell_lines(value, column, width, font)
            for value, column, width in zip(row, self.table.columns, self.widths, strict=True)
        ]
        height = max(len(lines) for lines in cells) * self.leading + 2
        if self.y - height < EDGE:
            self._page_turn()
        self.canvas.setFont(font, self.points)
        left = EDGE
        for lines, column, width in zip(cells, self.table.columns, self.widths, strict=True):
            y = self.y - self.points
            for line in lines:
                if column.kind in {"text", "day", "month"}:
                    self.canvas.drawString(left, y, line)
                else:
                    self.canvas.drawRightString(left + width - GAP, y, line)
                y -= self.leading
            left += width
        self.y -= height

    def _cell_lines(self, value: Any, column: Column, width: float, font: str) -> list[str]:
        text = _written(cell_shown(value, column.kind))
        if not text or stringWidth(text, font, self.points) <= width - GAP:
            return [text]
        split = simpleSplit(text, font, self.points, width - GAP)
        lines = [piece for line in split for piece in self._cut(line, width, font)]
        return lines if len(lines) <= MOST_LINES else [*lines[: MOST_LINES - 1], f"{lines[MOST_LINES - 1][:-3]}..."]

    def _cut(self, line: str, width: float, font: str) -> list[str]:
        """A word that is wider than its column goes on in the next line; a figure is never cut short."""
        pieces, piece = [], ""
        for sign in line:
            if piece and stringWidth(piece + sign, font, self.points) > width - GAP:
                pieces.append(piece)
                piece = ""
            piece += sign
        return [*pieces, piece]

    def _end(self) -> None:
        """The proof and the lines to sign, together on one page."""
        if self.y - 40 * (len(SIGNED) + 1) < EDGE:
            self._page_turn()
        self.y -= 10
        self._words(self.about.proof, "Helvetica", 9)
        for name in SIGNED:
            self.y -= 34
            self.canvas.setFont("Helvetica", 9)
            self.canvas.drawString(EDGE, self.y, name)
            self.canvas.line(EDGE + 70, self.y - 2, EDGE + 320, self.y - 2)
            self.canvas.drawString(EDGE + 335, self.y, "Date")
            self.canvas.line(EDGE + 362, self.y - 2, EDGE + 470, self.y - 2)

    def _pages_fill(self) -> None:
        self.canvas.beginForm(PAGES, 0, -3, 40, 10)
        self.canvas.setFont("Helvetica", 8)
        self.canvas.drawString(0, 0, str(self.pages))
        self.canvas.endForm()


def _written(text: str) -> str:
    plain = " ".join(text.translate(WRITTEN).split())
    return plain.encode("cp1252", "replace").decode("cp1252")
