"""Patches and methods as the cells of a table: what fits, what it takes, and what is picked."""

from collections.abc import Sequence
from dataclasses import dataclass

from orders.desk.season.draft import Draft
from orders.planning.filling import NO_WORK, REPLACEABLE
from orders.planning.models import Prescription
from orders.planning.overview import PatchLine
from orders.planning.preview import RECOMMENDED, ChoiceRow


@dataclass(frozen=True)
class MethodColumn:
    """A method that treats some of the patches that are shown."""

    code: str
    name: str


@dataclass(frozen=True)
class Cell:
    """One method on one patch. `may_pick`: nothing stands against it."""

    row: ChoiceRow
    is_picked: bool

    @property
    def may_pick(self) -> bool:
        return self.row.is_new

    @property
    def why_not(self) -> str:
        return self.row.refused


@dataclass(frozen=True)
class PatchCells:
    """A patch with its cells in the order of the columns, and what is picked where no cell says it."""

    line: PatchLine
    cells: tuple[Cell, ...]
    choice: str

    @property
    def has_several(self) -> bool:
        """More than one method is recommended together, one for each of its plants."""
        return sum(cell.row.is_recommended and cell.row.is_new for cell in self.cells) > 1

    @property
    def may_drop(self) -> bool:
        return any(row.state in REPLACEABLE and row.origin != "follow_up" for row in self.line.chosen)

    @property
    def chosen(self) -> list[Prescription]:
        return [row for row in self.line.chosen if row.origin != "follow_up"]

    def is_estimated(self, book_id: int | None) -> bool:
        """Whether anything that fits has figures by the rate book that holds, where something fits."""
        fitting = [cell.row for cell in self.cells if cell.row.fits == "yes"]
        return not fitting or any(row.estimate and row.estimate.rate_book_id == book_id for row in fitting)


def unfit_methods(found: Sequence[tuple[PatchLine, list[ChoiceRow]]]) -> list[tuple[str, str]]:
    """Methods that fit none of the patches shown, each with why not on the first of them."""
    rows = [row for _, listed in found for row in listed if row.method]
    fitting = {row.code for row in rows if row.fits != "no"}
    why = {row.method.name: row.because for row in reversed(rows) if row.method and row.code not in fitting}
    return sorted(why.items())


def patch_cells(
    found: Sequence[tuple[PatchLine, list[ChoiceRow]]], draft: Draft
) -> tuple[list[MethodColumn], list[PatchCells]]:
    """Methods that fit none of the patches shown have no column."""
    names = {row.code: row.method.name for _, rows in found for row in rows if row.fits != "no" and row.method}
    columns = [MethodColumn(code, names[code]) for code in sorted(names, key=lambda code: names[code])]
    return columns, [_patch(line, rows, columns, draft) for line, rows in found]


def _patch(line: PatchLine, rows: list[ChoiceRow], columns: list[MethodColumn], draft: Draft) -> PatchCells:
    by_code = {row.code: row for row in rows}
    pick = draft.picks.get(line.patch.pk)
    choice = pick.choice if pick else ""
    cells = tuple(Cell(by_code[column.code], choice == column.code) for column in columns)
    return PatchCells(line, cells, choice if choice in ("", NO_WORK, RECOMMENDED) else "a method")
