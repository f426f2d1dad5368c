"""Which surveyed patches a question asks for, and in which order. Thousands are narrowed and sorted by a few of their
columns; what is recommended and chosen on them is read for those that are shown."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple, TypeVar, overload
from zlib import crc32

import numpy as np
from django.db.models import QuerySet

from estimating.columns import Known
from estimating.suitability import Suitability
from orders.common.errors import FieldError, Invalid
from orders.common.kept import changes_version, kept
from orders.estimates.suited import codes_leading, surveys_suited
from orders.planning.models import Season
from orders.planning.overview import MOST_NAMED, PatchLine, PatchQuestion, overview
from orders.planning.selectors import prescriptions_standing
from orders.sites.models import Patch, Survey, SurveyComponent
from orders.sites.selectors import surveys_current

COLUMNS = (
    *("pk", "patch_id", "patch__site__code", "patch__code", "patch__name", "patch__site__name"),
    "patch__control_state",
)

# What the database narrows by, and what all rows rest on.
NARROWED_BY = ("site", "control_state", "form", "species")
SURVEYED_BY = ("site", "patch", "patchsuccession", "survey", "surveyimport", "closeout")
RECOMMENDED_BY = (*SURVEYED_BY, "species", "growthform", "method")

Read = TypeVar("Read")


class PatchRow(NamedTuple):
    """What a patch is narrowed and sorted by."""

    survey: int
    patch: int
    site: str
    code: str
    name: str
    site_name: str
    control_state: str

    @property
    def text(self) -> str:
        return f"{self.site} {self.code} {self.name} {self.site_name}".lower()


@dataclass(frozen=True)
class PatchLines(Sequence[PatchLine]):
    """The patches found, in order. Whoever shows a part of them reads that part."""

    season: Season | None
    repeat_years: Mapping[int, int]
    keys: tuple[int, ...]

    def __len__(self) -> int:
        return len(self.keys)

    @overload
    def __getitem__(self, which: int) -> PatchLine: ...
    @overload
    def __getitem__(self, which: slice) -> list[PatchLine]: ...
    def __getitem__(self, which: int | slice) -> PatchLine | list[PatchLine]:
        if isinstance(which, slice):
            return self._lines(self.keys[which])
        return self._lines((self.keys[which],))[0]

    def __iter__(self) -> Iterator[PatchLine]:
        return iter(self._lines(self.keys))

    def _lines(self, keys: Sequence[int]) -> list[PatchLine]:
        found = {line.patch.pk: line for line in overview(self.season, self.repeat_years, only=keys).lines}
        return [found[key] for key in keys if key in found]

    def patches(self) -> list[Patch]:
        """The patches alone, for whoever asks nothing of their surveys."""
        rows = Patch.objects.select_related("site").defer("site__boundary")
        rows = rows.filter(pk__in=self.keys) if len(self.keys) <= MOST_NAMED else rows
        found = {patch.pk: patch for patch in rows}
        return [found[key] for key in self.keys if key in found]


@dataclass(frozen=True)
class Recommended:
    """What is recommended on each survey: the leading method's code, and all codes."""

    leading: Mapping[int, str]
    codes: Mapping[int, frozenset[str]]


class PatchesFound:
    """The surveys that the database can narrow by itself, and what is looked up of them only where it is asked for."""

    def __init__(self, question: PatchQuestion, repeat_years: Mapping[int, int]) -> None:
        self.surveys = _narrowed(question)
        self.repeat_years = repeat_years
        self.is_whole = not any(getattr(question, name) for name in NARROWED_BY)
        self.rows = [PatchRow._make(row) for row in self._kept("surveyed", SURVEYED_BY, self._read)]

    def _kept(self, name: str, entities: Sequence[str], make: Callable[[], Read]) -> Read:
        """Of all patches it is read once a change; what the database narrows is little."""
        return kept(f"patches/{name}", changes_version(*entities), make) if self.is_whole else make()

    def _read(self) -> list[tuple[Any, ...]]:
        return list(self.surveys.prefetch_related(None).values_list(*COLUMNS))

    @cached_property
    def recommended(self) -> Recommended:
        years = crc32(repr(sorted(self.repeat_years.items())).encode())
        return self._kept(f"recommended/{years}", RECOMMENDED_BY, self._recommended)

    def _recommended(self) -> Recommended:
        keys, suited = surveys_suited(self.surveys, self.repeat_years)
        return Recommended(dict(zip(keys, codes_leading(suited), strict=True)), _codes(keys, suited))

    def areas(self) -> Mapping[int, tuple[float, float]]:
        """By survey the infested area and the part of it under leaves."""
        return self._kept("areas", SURVEYED_BY, self._areas)

    def _areas(self) -> Mapping[int, tuple[float, float]]:
        parts = SurveyComponent.objects.filter(survey__in=self.surveys.order_by().values("pk"))
        found = dict.fromkeys((row.survey for row in self.rows), (0.0, 0.0))
        for survey, area, cover in parts.order_by("survey_id", "id").values_list(
            "survey_id", "infested_area_m2", "cover_likely"
        ):
            infested, canopy = found[survey]
            found[survey] = infested + area, canopy + area * cover
        return found


Order = Callable[[PatchesFound], Callable[[PatchRow], Any]]


def _by_place(found: PatchesFound) -> Callable[[PatchRow], Any]:
    return lambda row: (row.site, row.code)


def _by_area(found: PatchesFound) -> Callable[[PatchRow], Any]:
    areas = found.areas()
    return lambda row: areas[row.survey][0]


def _by_cover(found: PatchesFound) -> Callable[[PatchRow], Any]:
    areas = found.areas()

    def cover(row: PatchRow) -> float:
        infested, canopy = areas[row.survey]
        return canopy / infested if infested else 0.0

    return cover


def _by_recommended(found: PatchesFound) -> Callable[[PatchRow], Any]:
    leading = found.recommended.leading
    return lambda row: (leading[row.survey], row.site, row.code)


def _by_control_state(found: PatchesFound) -> Callable[[PatchRow], Any]:
    return lambda row: (row.control_state, row.site, row.code)


SORTS: dict[str, Order] = {
    "patch": _by_place,
    "area": _by_area,
    "cover": _by_cover,
    "recommended": _by_recommended,
    "control_state": _by_control_state,
}


def patches_found(season: Season | None, repeat_years: Mapping[int, int], question: PatchQuestion) -> PatchLines:
    """The patches that a question asks for, in its order; `-` before the sort turns it."""
    name = question.sort.removeprefix("-")
    if name not in SORTS:
        message = f"must be one of {', '.join(SORTS)}, with - before it for downwards"
        raise Invalid("The patches cannot be sorted that way.", [FieldError("sort", message)])
    found = PatchesFound(question, repeat_years)
    rows = sorted(_kept(found, question, season), key=SORTS[name](found), reverse=question.sort.startswith("-"))
    return PatchLines(season, repeat_years, tuple(row.patch for row in rows))


def _narrowed(question: PatchQuestion) -> QuerySet[Survey]:
    rows = surveys_current()
    if question.site:
        rows = rows.filter(patch__site__code=question.site)
    if question.control_state:
        rows = rows.filter(patch__control_state=question.control_state)
    if question.form:
        rows = rows.filter(pk__in=SurveyComponent.objects.filter(growth_form__code=question.form).values("survey"))
    if question.species:
        rows = rows.filter(pk__in=SurveyComponent.objects.filter(species__code=question.species).values("survey"))
    return rows


def _kept(found: PatchesFound, question: PatchQuestion, season: Season | None) -> list[PatchRow]:
    text = question.text.lower().strip()
    rows = [row for row in found.rows if text in row.text] if text else found.rows
    if question.chosen:
        chosen = _patches_chosen(season)
        rows = [row for row in rows if (row.patch in chosen) is (question.chosen == "yes")]
    if question.recommended:
        told, code = found.recommended, question.recommended
        rows = [row for row in rows if code == told.leading[row.survey] or code in told.codes.get(row.survey, ())]
    return rows


def _patches_chosen(season: Season | None) -> set[int]:
    return set(prescriptions_standing(season).order_by().values_list("patch_id", flat=True)) if season else set()


def _codes(keys: Sequence[int], suited: Suitability) -> Mapping[int, frozenset[str]]:
    """By survey the codes of all methods that are recommended and fit."""
    asked = np.flatnonzero(suited.recommended >= 0)
    fits = asked[suited.fits[asked, suited.recommended[asked]] == Known.YES]
    known, codes = suited.methods.codes, defaultdict[int, set[str]](set)
    patches, methods = suited.site.components.patch_index[fits], suited.recommended[fits]
    for row, number in zip(patches.tolist(), methods.tolist(), strict=True):
        codes[keys[row]].add(known[number])
    return {key: frozenset(found) for key, found in codes.items()}
