"""One row of the file read into typed values, before rows of the same survey are put together."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.cells import Cells, Findings, RowNotes, folded, spellings
from orders.sites.geofiles.days import Days
from orders.sites.geofiles.mapping import FieldMapping
from orders.sites.geofiles.outlines import Place, Problem, closed_track, misplaced, outside_site, usable
from orders.sites.geofiles.records import (
    CONDITIONS,
    GROUND_KINDS,
    Answer,
    Condition,
    GroundKind,
    KnownCodes,
    RawRow,
)

# What the database holds of each text.
CODE_CHARACTERS = 40
NAME_CHARACTERS = 120
NOTES_CHARACTERS = 10_000
# Wider than any ground a crew works on; a figure beyond is a slip or in another unit (our choice).
STEEPEST_DEG = 75.0
TALLEST_M = 60.0
# Of the upper cut through a climbing stem: from the knee to what a pole saw reaches from the ground.
LOWEST_CUT_M = 0.3
HIGHEST_CUT_M = 6.0
FARTHEST_M = 100_000.0
LARGEST_M2 = 1e9
LONGEST_MINUTES = 24 * 60.0

# What other files write in place of our words: examples of Darwin Core's reproductiveCondition, and common practice.
ALSO_CONDITIONS: Mapping[str, Condition] = {
    "non reproductive": "none",
    "vegetative": "none",
    "in bloom": "flowers",
    "flowering": "flowers",
    "fruit bearing": "fruit",
    "fruiting": "fruit",
}

SurveyKey = tuple[str, str, date]


@dataclass(frozen=True, slots=True)
class Facts:
    """What a row says of the patch as a whole; None where it says nothing."""

    patch_name: str | None = None
    observer: str | None = None
    gross_area_m2: float | None = None
    slope_deg: float | None = None
    ground: GroundKind | None = None
    wet_ground: Answer | None = None
    distance_to_water_m: float | None = None
    desirable_tree_roots: Answer | None = None
    evergreen_natives: Answer | None = None
    spring_ephemerals: Answer | None = None
    minutes_from_gate: float | None = None
    target_cover_percent: float | None = None
    control_state: str | None = None
    notes: str | None = None


@dataclass(frozen=True, slots=True)
class ComponentDraft:
    """A component as the row gives it; its area cannot be judged before the patch's own is known."""

    cells: Cells
    species_code: str | None
    growth_form: str | None
    infested_area_m2: float | None
    infested_percent: float | None
    cover_percent: float | None
    cover_class: str | None
    cover_scheme: str | None
    stems_small: int | None
    stems_medium: int | None
    stems_large: int | None
    height_m: float | None
    cut_height_m: float | None
    host_trees: int | None
    fertile: Answer | None
    reproductive_condition: Condition | None


@dataclass(frozen=True, slots=True)
class Draft:
    """A row read. `key` is None where it cannot be told which survey it belongs to."""

    notes: RowNotes
    key: SurveyKey | None
    facts: Facts
    geometry: BaseGeometry | None
    components: tuple[ComponentDraft, ...]


@dataclass(frozen=True, slots=True)
class Spellings:
    """The program's codes by every spelling in which they may be written."""

    sites: Mapping[str, str]
    species: Mapping[str, str]
    growth_forms: Mapping[str, str]
    control_states: Mapping[str, str]
    cover_schemes: Mapping[str, str]
    cover_classes: Mapping[str, Mapping[str, str]] = field(default_factory=dict)

    @classmethod
    def of(cls, known: KnownCodes) -> "Spellings":
        named = {folded(name): code for code, names in known.species.items() for name in (code, *names)}
        return cls(
            sites=spellings(known.sites),
            species=named,
            growth_forms=spellings(known.growth_forms),
            control_states=spellings(known.control_states),
            cover_schemes=spellings(known.cover_schemes),
            cover_classes={scheme: spellings(classes) for scheme, classes in known.cover_schemes.items()},
        )


@dataclass(frozen=True, slots=True)
class DraftReader:
    """Reads rows of one file, one after another."""

    mapping: FieldMapping
    known: KnownCodes
    codes: Spellings
    today: date
    findings: Findings
    shared: frozenset[str] = frozenset()
    days: Days = field(default_factory=Days)

    def read(self, row: RawRow) -> Draft:
        notes = RowNotes(row, self.findings)
        cells = Cells(self.mapping.row, notes, decimal_comma=self.mapping.decimal_comma)
        site_code = cells.code("site_code", self.codes.sites, "unknown_site", needed=True)
        patch_code = cells.text("patch_code", CODE_CHARACTERS, needed=True)
        site = self.known.sites.get(site_code or "")
        observed_on = cells.day("observed_on", self.today, self.days, site.time_zone if site else "")
        return Draft(
            notes=notes,
            key=(site_code, patch_code, observed_on) if site_code and patch_code and observed_on else None,
            facts=self._facts(cells),
            geometry=self._geometry(notes, site_code),
            components=self._components(notes),
        )

    def _facts(self, cells: Cells) -> Facts:
        return Facts(
            patch_name=cells.text("patch_name", NAME_CHARACTERS) or None,
            observer=cells.text("observer", NAME_CHARACTERS, needed=True) or None,
            gross_area_m2=cells.number("gross_area_m2", 0, LARGEST_M2),
            slope_deg=cells.number("slope_deg", 0, STEEPEST_DEG),
            ground=_ground(cells),
            wet_ground=cells.answer("wet_ground"),
            distance_to_water_m=cells.number("distance_to_water_m", 0, FARTHEST_M),
            desirable_tree_roots=cells.answer("desirable_tree_roots"),
            evergreen_natives=cells.answer("evergreen_natives"),
            spring_ephemerals=cells.answer("spring_ephemerals"),
            minutes_from_gate=cells.number("minutes_from_gate", 0, LONGEST_MINUTES),
            target_cover_percent=cells.number("target_cover_percent", 0, 100),
            control_state=cells.code("control_state", self.codes.control_states, "unknown_control_state"),
            notes=cells.text("notes", NOTES_CHARACTERS) or None,
        )

    def _geometry(self, notes: RowNotes, site_code: str | None) -> BaseGeometry | None:
        """The location in stored form. None is an error only where no other row of the survey has one."""
        row = notes.row
        if row.problem:
            notes.error(row.problem.field, row.problem.code, row.problem.reason)
        if row.geometry is None:
            return None
        outline, gap = closed_track(row.geometry) if self.mapping.close_tracks else (row.geometry, None)
        shape = usable(outline)
        if isinstance(shape, Problem):
            notes.error("geometry", shape.code, shape.reason)
            return None
        place = Place(self.known.plausible, site_code or "", self.known.sites.get(site_code or ""))
        wrong = misplaced(shape, place)
        if wrong:
            notes.error("geometry", wrong.code, wrong.reason)
            return None
        for doubt in (gap, outside_site(shape, place)):
            if doubt:
                notes.warn("geometry", doubt.code, doubt.reason)
        return shape

    def _components(self, notes: RowNotes) -> tuple[ComponentDraft, ...]:
        """The groups that hold anything; one that is wholly blank is not there."""
        groups = [
            Cells(sources, notes, f"_{number}" if number else "", self.mapping.decimal_comma, self.shared)
            for number, sources in self.mapping.groups.items()
        ]
        filled = [cells for cells in groups if not cells.is_blank()]
        if not filled:
            groups[0].error("species", "missing", "is needed, and is blank")
        return tuple(self._component(cells) for cells in filled)

    def _component(self, cells: Cells) -> ComponentDraft:
        scheme = cells.code("cover_scheme", self.codes.cover_schemes, "unknown_cover_scheme")
        classes = self.codes.cover_classes.get(scheme or "", {})
        return ComponentDraft(
            cells=cells,
            species_code=cells.code("species", self.codes.species, "unknown_species", needed=True),
            growth_form=cells.code("growth_form", self.codes.growth_forms, "unknown_growth_form", needed=True),
            infested_area_m2=cells.number("infested_area_m2", 0, LARGEST_M2),
            infested_percent=cells.number("infested_percent", 0, 100),
            cover_percent=cells.number("cover_percent", 0, 100, "cover_out_of_range"),
            cover_class=cells.code("cover_class", classes, "unknown_cover_class") if scheme else None,
            cover_scheme=scheme,
            stems_small=cells.count("stems_small"),
            stems_medium=cells.count("stems_medium"),
            stems_large=cells.count("stems_large"),
            height_m=cells.number("height_m", 0, TALLEST_M),
            cut_height_m=cells.number("cut_height_m", LOWEST_CUT_M, HIGHEST_CUT_M),
            host_trees=cells.count("host_trees"),
            fertile=cells.answer("fertile"),
            reproductive_condition=_condition(cells),
        )


def _ground(cells: Cells) -> GroundKind | None:
    kinds: dict[str, GroundKind] = {kind: kind for kind in GROUND_KINDS}
    told = cells.code("ground", kinds, "unknown_ground")
    return kinds[told] if told else None


def _condition(cells: Cells) -> Condition | None:
    words: dict[str, Condition] = {**ALSO_CONDITIONS, **{word: word for word in CONDITIONS}}
    told = cells.code("reproductive_condition", words, "unknown_reproductive_condition")
    return words[told] if told else None
