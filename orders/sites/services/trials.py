"""The rows of a dry run, kept so that people can look at them on a map and in a list before the file is taken."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.cells import Cells, Findings, RowNotes
from orders.sites.geofiles.mapping import FieldMapping
from orders.sites.geofiles.records import RawFile, RawRow
from orders.sites.geofiles.resolving import resolve
from orders.sites.geofiles.values import CONTROL_CHARACTER, text_of
from orders.sites.models import LEFT_OUT, SurveyImport, TrialRow

BATCH = 500
CHARACTERS = 40
CELL_CHARACTERS = 300
# About a meter on the ground: finer than a map of a whole file can show.
SIMPLER_DEG = 0.00001
DECIMALS = 6


@dataclass(frozen=True)
class Outcome:
    """What would become of a row, and the survey that it is part of, where that could be read."""

    word: str
    key: tuple[str, str, date] | None = None


def trial_rows(imported: SurveyImport, raw: RawFile, mapping: FieldMapping) -> list[TrialRow]:
    """Every row of the file, not yet saved and without its outcome."""
    fitted = resolve(mapping, raw.fields)
    return [_row(imported, row, fitted) for row in raw.rows]


def trial_rows_add(
    rows: Sequence[TrialRow], outcomes: Mapping[int, Outcome], new_patches: set[tuple[str, str]], found: set[int]
) -> None:
    """Save them; `found` are the numbers of the rows that somebody should look at, which keep their own values."""
    for row in rows:
        outcome = outcomes.get(row.number, Outcome(LEFT_OUT))
        row.outcome = outcome.word
        if outcome.key:
            site_code, patch_code, day = outcome.key
            row.site_code, row.patch_code, row.day = site_code, patch_code, day.isoformat()
        row.new_patch = (row.site_code, row.patch_code) in new_patches
        if row.number not in found:
            row.cells = {}
    TrialRow.objects.bulk_create(rows, batch_size=BATCH)


def _row(imported: SurveyImport, row: RawRow, mapping: FieldMapping) -> TrialRow:
    said = Cells(mapping.row, RowNotes(row, Findings()))
    return TrialRow(
        imported=imported,
        number=row.number,
        line=row.line,
        site_code=_said(said, "site_code"),
        patch_code=_said(said, "patch_code"),
        day=_said(said, "observed_on"),
        geometry=_shape(row.geometry),
        cells={
            _text(name, CELL_CHARACTERS): _text(cell, CELL_CHARACTERS)
            for name, cell in row.attributes.items()
            if cell is not None
        },
    )


def _said(said: Cells, name: str) -> str:
    return _text(said.text(name, CELL_CHARACTERS), CHARACTERS)


def _text(cell: Any, most: int) -> str:
    """As a person would write it, without what no database keeps."""
    text = CONTROL_CHARACTER.sub("", text_of(cell)).encode(errors="replace").decode()
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _shape(geometry: BaseGeometry | None) -> dict[str, Any] | None:
    """A shape for a picture: whatever is wrong with it, it is shown as it was drawn."""
    if geometry is None or geometry.is_empty or not np.isfinite(shapely.get_coordinates(geometry)).all():
        return None
    simpler = shapely.simplify(shapely.force_2d(geometry), SIMPLER_DEG, preserve_topology=False)
    shown = geometry if simpler.is_empty else simpler
    rounded = shapely.transform(shapely.force_2d(shown), lambda degrees: np.round(degrees, DECIMALS))
    return dict(json.loads(shapely.to_geojson(rounded)))
