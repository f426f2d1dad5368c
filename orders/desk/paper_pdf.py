"""A paper as PDF, letter size. The standard fonts know Western European text; other signs are written out."""

from collections import Counter
from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Line, Polygon, String
from reportlab.lib.colors import HexColor, black, white
from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import inch
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
    TableStyle,
)

from orders.desk.paper_map import HEIGHT, MARGIN, WIDTH, PaperMap, Shape
from orders.desk.papers import Paper, Part

PAGE = 7.3 * inch
KEPT_ROWS = 20  # a longer table breaks over pages
BODY = ParagraphStyle("body", fontName="Helvetica", fontSize=9, leading=11.5)
HEAD = ParagraphStyle("head", parent=BODY, fontName="Helvetica-Bold")
TITLE = ParagraphStyle("title", parent=HEAD, fontSize=16, leading=20)
PART = ParagraphStyle("part", parent=HEAD, fontSize=11, leading=14, spaceBefore=9, spaceAfter=3)
LINE, GROUND, PATCH = HexColor("#8a8a8a"), HexColor("#ececec"), HexColor("#c9c9c9")
GRID = [
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
    ("LINEBELOW", (0, 0), (-1, -1), 0.4, LINE),
    ("LEFTPADDING", (0, 0), (-1, -1), 3),
    ("RIGHTPADDING", (0, 0), (-1, -1), 3),
    ("TOPPADDING", (0, 0), (-1, -1), 2),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
]
WRITTEN = str.maketrans({"≤": "<=", "≥": ">=", "→": "->", "−": "-", "\u202f": " ", "\u2009": " "})


def paper_pdf(paper: Paper) -> bytes:
    return papers_pdf([paper], paper.title)


def papers_pdf(papers: Sequence[Paper], title: str) -> bytes:
    """One after the other, each with pages of its own, numbered by itself and found in the outline."""
    made = BytesIO()
    page = SimpleDocTemplate(
        made,
        pagesize=letter,
        leftMargin=0.6 * inch,
        rightMargin=0.6 * inch,
        topMargin=0.6 * inch,
        bottomMargin=0.7 * inch,
        title=title,
        lang=papers[0].language,
        invariant=1,
    )
    page.build(list(_all(papers)), canvasmaker=Numbered)
    return made.getvalue()


class Numbered(Canvas):  # type: ignore[misc]  # reportlab has no types
    """A page knows of how many it is only when all are drawn: pages wait, and get their feet at the end."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.waiting: list[dict[str, Any]] = []
        self.paper: Paper | None = None

    def showPage(self) -> None:  # noqa: N802 - reportlab's own name
        self.waiting.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        counts = Counter(id(state["paper"]) for state in self.waiting)
        drawn: Counter[int] = Counter()
        for state in self.waiting:
            self.__dict__.update(state)
            paper = state["paper"]
            drawn[id(paper)] += 1
            self.setFont("Helvetica", 8)
            self.drawString(0.6 * inch, 0.4 * inch, _written(paper.page_words(drawn[id(paper)], counts[id(paper)])))
            super().showPage()
        super().save()


class Mark(Flowable):  # type: ignore[misc]  # reportlab has no types
    """No more than a line of the outline; on level 0 a new paper begins."""

    def __init__(self, words: str, level: int, paper: Paper) -> None:
        super().__init__()
        self.words, self.level, self.paper = words, level, paper

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return 0, 0

    def draw(self) -> None:
        self.canv.paper = self.paper
        key = f"{id(self.paper)}-{id(self)}"
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(_written(self.words), key, self.level, closed=True)


def _all(papers: Sequence[Paper]) -> Iterator[Any]:
    for number, paper in enumerate(papers):
        if number:
            yield PageBreak()
        yield from _flow(paper)


def _flow(paper: Paper) -> Iterator[Any]:
    yield Mark(paper.title, 0, paper)
    yield _text(paper.title, TITLE)
    yield _text(paper.subtitle, BODY)
    for part in paper.shown:
        if part.own_page:
            yield PageBreak()
        yield Mark(part.heading, 1, paper)
        flow = list(_part(part, paper.caution_word))
        yield from [KeepTogether(flow)] if len(part.rows) <= KEPT_ROWS else flow
    if paper.drawing:
        yield KeepTogether([_text(paper.map_word, PART), _drawing(paper.drawing)])
    if paper.signatures:
        yield Spacer(1, 0.3 * inch)
        yield KeepTogether([_grid([[f"{name}: ", " "] for name in paper.signatures], (0.3, 0.7), tall=True)])


def _part(part: Part, word: str) -> Iterator[Any]:
    yield _text(part.heading, PART)
    if part.caution:
        boxed = Table([[_text(f"{word}. {part.caution}", HEAD)]], colWidths=[PAGE])
        boxed.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), 1.2, black), ("BACKGROUND", (0, 0), (-1, -1), white)]))
        yield boxed
    if part.facts:
        yield _grid(part.facts, (0.32, 0.68))
    if part.rows:
        shares = part.shares or [1 / len(part.columns)] * len(part.columns)
        yield _grid([part.columns, *part.rows], shares, headed=True, tall=part.is_form)
    yield from (_text(f"•  {line}", BODY) for line in part.lines)


def _grid(rows: Sequence[Sequence[str]], shares: Sequence[float], *, headed: bool = False, tall: bool = False) -> Table:
    cells = [
        [_text(text, HEAD if (headed and number == 0) or (not headed and place == 0) else BODY) for place, text in told]
        for number, told in enumerate(list(enumerate(row)) for row in rows)
    ]
    grid = Table(
        cells,
        colWidths=[share * PAGE for share in shares],
        repeatRows=1 if headed else 0,
        rowHeights=[None if headed and not number else 0.35 * inch for number in range(len(rows))] if tall else None,
    )
    grid.setStyle(TableStyle([*GRID, ("GRID", (0, 0), (-1, -1), 0.4, LINE)] if headed and tall else GRID))
    return grid


def _text(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(_written(text)).replace("\n", "<br/>"), style)


def _written(text: str) -> str:
    return text.translate(WRITTEN).encode("cp1252", "replace").decode("cp1252")


def _drawing(drawn: PaperMap) -> Drawing:
    """Cut off at its edges, since the site goes on beyond them."""
    made = Drawing(WIDTH, HEIGHT)
    for shape in drawn.shapes:
        made.add(Polygon(_inside(shape), fillColor=PATCH if shape.is_patch else GROUND, strokeColor=black))
    for shape in drawn.shapes:
        if shape.name:
            x, y = shape.middle
            made.add(String(x, y, _written(shape.name), fontName="Helvetica-Bold", fontSize=9, textAnchor="middle"))
    made.add(Line(MARGIN, MARGIN, MARGIN + drawn.bar, MARGIN, strokeWidth=2))
    made.add(String(MARGIN, MARGIN + 4, f"{drawn.bar_feet:,} ft", fontName="Helvetica", fontSize=8))
    made.add(String(WIDTH - MARGIN, HEIGHT - MARGIN - 8, "N", fontName="Helvetica-Bold", fontSize=12, textAnchor="end"))
    return made


def _inside(shape: Shape) -> list[float]:
    near = ((min(max(x, 0), WIDTH), min(max(y, 0), HEIGHT)) for x, y in shape.points)
    return [part for point in near for part in point]
