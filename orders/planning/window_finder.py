"""Which windows of a season a question asks for. As long as nothing is asked of the windows themselves, only those that
are shown are worked out: the rows follow from what is recommended and chosen."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import overload

from orders.common.errors import FieldError, Invalid
from orders.estimates.models import Method
from orders.estimates.selectors import methods
from orders.planning.models import Season
from orders.planning.overview import PatchQuestion, overview
from orders.planning.patch_finder import PatchesFound, PatchRow
from orders.planning.selectors import prescriptions_standing
from orders.planning.window_list import SORTS, WindowLine, WindowQuestion, window_lines
from orders.planning.windows import SeasonWindows

Place = tuple[int, str]  # the patch's key and the method's code


def windows_found(
    season: Season, repeat_years: Mapping[int, int], question: WindowQuestion
) -> "WindowLines | list[WindowLine]":
    """The rows that a question asks for, in its order; `-` before the sort turns it."""
    name = question.sort.removeprefix("-")
    if name not in SORTS:
        message = f"must be one of {', '.join(SORTS)}, with - before it for downwards"
        raise Invalid("The windows cannot be sorted that way.", [FieldError("sort", message)])
    rows = PatchesFound(PatchQuestion(site=question.site, species=question.species), repeat_years)
    if question.is_open or question.text or name in ("opens", "closes", "days"):
        # The windows themselves decide: all of the patches that are left.
        only = None if not (question.site or question.species) else [row.patch for row in rows.rows]
        return window_lines(overview(season, repeat_years, only=only), SeasonWindows(season), question)
    return WindowLines(season, repeat_years, question, _places(rows, season, question))


def _places(found: PatchesFound, season: Season, question: WindowQuestion) -> tuple[Place, ...]:
    known = [method for method in methods() if question.method in ("", method.code)]
    pairs = [(row, method) for row, method in _pairs(found, known, season, question.shown == "all")]
    by_name = question.sort.removeprefix("-") == "method"
    pairs.sort(key=lambda pair: _order(pair[0], pair[1], by_name), reverse=question.sort.startswith("-"))
    return tuple((row.patch, method.code) for row, method in pairs)


def _order(row: PatchRow, method: Method, by_name: bool) -> tuple[str, ...]:
    place = (row.site, row.code, method.code)
    return (method.name, *place) if by_name else place


def _pairs(
    found: PatchesFound, known: Sequence[Method], season: Season, all_of_them: bool
) -> Iterator[tuple[PatchRow, Method]]:
    if all_of_them:
        yield from ((row, method) for row in found.rows for method in known)
        return
    recommended = found.recommended.codes
    chosen = set(prescriptions_standing(season).order_by().values_list("patch_id", "method_id"))
    for row in found.rows:
        codes = recommended.get(row.survey, frozenset())
        yield from ((row, method) for method in known if method.code in codes or (row.patch, method.pk) in chosen)


@dataclass(frozen=True)
class WindowLines(Sequence[WindowLine]):
    """The rows found, in order. Whoever shows a part of them reads that part."""

    season: Season
    repeat_years: Mapping[int, int]
    question: WindowQuestion
    places: tuple[Place, ...]

    def __len__(self) -> int:
        return len(self.places)

    @overload
    def __getitem__(self, which: int) -> WindowLine: ...
    @overload
    def __getitem__(self, which: slice) -> list[WindowLine]: ...
    def __getitem__(self, which: int | slice) -> WindowLine | list[WindowLine]:
        if isinstance(which, slice):
            return self._lines(self.places[which])
        return self._lines((self.places[which],))[0]

    def __iter__(self) -> Iterator[WindowLine]:
        return iter(self._lines(self.places))

    @cached_property
    def _windows(self) -> SeasonWindows:
        return SeasonWindows(self.season)

    def _lines(self, places: Sequence[Place]) -> list[WindowLine]:
        found = overview(self.season, self.repeat_years, only={patch for patch, _ in places})
        rows = window_lines(found, self._windows, replace(self.question, sort="patch"))
        told = {(row.line.patch.pk, row.method.code): row for row in rows}
        return [told[place] for place in places if place in told]
