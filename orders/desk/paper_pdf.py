"""A paper as PDF, letter size. The standard fonts know Western European text; other signs are written out."""

from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any
from xml.sax.saxutils import escape

from reportlab.graphics.shapes import Drawing, Line, Polygon, String
from reportlab.lib.colors import HexColor, black, white
from reportlab.lib.pagesizes import letter
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import inch
from reportlab.platypus import KeepTogether, Paragraph, SimpleDocTemplate, Spacer, Table, TableStyle

from orders.desk.paper_map import HEIGHT, MARGIN, WIDTH, PaperMap, Shape
from orders.desk.papers import Paper, Part

PAGE = 7.3 * inch
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
    made = BytesIO()
    page = SimpleDocTemplate(
        made,
        pagesize=letter,
        leftMargin=0.6 * inch,
        rightMargin=0.6 * inch,
        topMargin=0.6 * inch,
        bottomMargin=0.7 * inch,
        title=paper.title,
        lang=paper.language,
        invariant=1,
    )

    def foot(canvas: Any, document: Any) -> None:
        canvas.setFont("Helvetica", 8)
        canvas.drawString(0.6 * inch, 0.4 * inch, _written(paper.title))
        canvas.drawRightString(letter[0] - 0.6 * inch, 0.4 * inch, str(document.page))

    page.build(list(_flow(paper)), onFirstPage=foot, onLaterPages=foot)
    return made.getvalue()


def _flow(paper: Paper) -> Iterator[Any]:
    yield _text(paper.title, TITLE)
    yield _text(paper.subtitle, BODY)
    for part in paper.shown:
        yield KeepTogether(list(_part(part, paper.caution_word)))
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
        width = 1 / len(part.columns)
        yield _grid([part.columns, *part.rows], [width] * len(part.columns), headed=True)
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
        rowHeights=[0.35 * inch] * len(rows) if tall else None,
    )
    grid.setStyle(TableStyle(GRID))
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
