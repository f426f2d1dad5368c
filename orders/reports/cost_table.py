"""The cost report as a table: one line a cell of the cube, or laid out in rows and columns."""

from collections.abc import Mapping
from dataclasses import dataclass

from orders.common.models import User
from orders.reports.asking import Asked, asked_read
from orders.reports.cube import Cube, Figures, Keys, cost_cube, names_of
from orders.reports.lines import Line
from orders.reports.table import Column, Table

USUAL_CUT = "fund"
MOST_ACROSS = 8  # more columns than this do not fit a tablet; then each pair has its own row

MEASURES = (
    Column("planned_cents", "Planned", "cents", total=True),
    Column("actual_cents", "Actual", "cents", total=True),
    Column("difference_cents", "Difference", "cents", total=True),
    Column("planned_minutes", "Planned hours", "minutes", total=True),
    Column("actual_minutes", "Actual hours", "minutes", total=True),
)


def cost_asked(query: Mapping[str, str]) -> tuple[Asked, list[str]]:
    asked = asked_read(query, by=USUAL_CUT)
    return asked, [name for name in (asked.by, asked.also) if name]


def cost_table(actor: User, query: Mapping[str, str]) -> Table:
    asked, by = cost_asked(query)
    cube = cost_cube(actor=actor, asked=asked, by=by)
    columns = tuple(Column(one.code, one.heading, "text") for one in cube.dimensions)
    names = [names_of(one) for one in cube.dimensions]
    rows = [
        Line.of(
            (*(called.get(key, key) for called, key in zip(names, keys, strict=True)), *measured(figures)),
            **behind(cube, keys),
        )
        for keys, figures in cube.cells.items()
    ]
    total = ("Total", *[None] * (len(columns) - 1), *measured(cube.total))
    return Table(_title(cube), asked.told(), (*columns, *MEASURES), rows, total)


def _title(cube: Cube) -> str:
    return f"Cost by {' and '.join(one.heading.lower() for one in cube.dimensions)}"


def measured(figures: Figures) -> tuple[int, ...]:
    return tuple(getattr(figures, column.key) for column in MEASURES)


def behind(cube: Cube, keys: Keys) -> dict[str, str]:
    """The words that ask for the rows of a cell; the filters of the report go with them."""
    words = ("by", "key"), ("and", "and_key")
    named = zip(words, zip(cube.dimensions, keys, strict=True), strict=False)
    return {word: text for pair, (one, key) in named for word, text in zip(pair, (one.code, key), strict=True)}


@dataclass(frozen=True)
class Crossed:
    """Actual cost in rows and columns; the last of each row, and the last row, are the sums."""

    rows_heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, tuple[tuple[int | None, Mapping[str, str]], ...], int], ...]
    totals: tuple[int, ...]
    total: int


def cost_crossed(actor: User, query: Mapping[str, str]) -> Crossed | None:
    """None where the report is not cut twice, or has more columns than fit."""
    asked, by = cost_asked(query)
    if len(by) == 1:
        return None
    cube = cost_cube(actor=actor, asked=asked, by=by)
    down, across = cube.along(0), cube.along(1)
    if not 1 <= len(across) <= MOST_ACROSS:
        return None
    down_names, across_names = (names_of(one) for one in cube.dimensions)
    return Crossed(
        rows_heading=cube.dimensions[0].heading,
        columns=tuple(across_names.get(key, key) for key in across),
        rows=tuple(
            (down_names.get(key, key), tuple(_crossing(cube, (key, other)) for other in across), figures.actual_cents)
            for key, figures in down.items()
        ),
        totals=tuple(figures.actual_cents for figures in across.values()),
        total=cube.total.actual_cents,
    )


def _crossing(cube: Cube, keys: Keys) -> tuple[int | None, Mapping[str, str]]:
    """A crossing without rows stays empty, which is not the same as nothing spent."""
    figures = cube.cells.get(keys)
    return (None, {}) if figures is None else (figures.actual_cents, behind(cube, keys))
