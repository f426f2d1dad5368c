"""Species, and what is known of their year. A range of days is known at both ends or at none, and has a source."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import Species

MonthDay = tuple[int, int]
MOST_FLOWER_TO_FRUIT_DAYS = 365
# The days of a species' year: the name of each, and the field that says where it comes from.
DAYS = {
    "fruit_first": "phenology_source",
    "fruit_last": "phenology_source",
    "flower_first": "flower_source",
    "flower_last": "flower_source",
    "leaf_drop": "leaf_drop_source",
}
RANGES = {"fruiting": ("fruit_first", "fruit_last"), "flowering": ("flower_first", "flower_last")}
PHENOLOGY = frozenset(
    [f"{name}_{part}" for name in DAYS for part in ("month", "day")]
    + ["phenology_source", "flower_source", "flower_to_fruit_days", "leaf_drop_source"]
)

NATURE = frozenset(
    {
        "scientific_name",
        "common_name",
        "evergreen",
        "resprouts",
        "pulled_stems_reroot",
        "reroot_source",
        "is_active",
    }
)


@dataclass(frozen=True, kw_only=True)
class SpeciesYear:
    """What is known of a species' year: days as (month, day), each with its source."""

    fruit_first: MonthDay | None = None
    fruit_last: MonthDay | None = None
    phenology_source: str = ""
    flower_first: MonthDay | None = None
    flower_last: MonthDay | None = None
    flower_to_fruit_days: int | None = None
    flower_source: str = ""
    leaf_drop: MonthDay | None = None
    leaf_drop_source: str = ""


@writing()
def species_add(
    *,
    stamp: Stamp,
    code: str,
    scientific_name: str,
    common_name: str,
    evergreen: bool,
    resprouts: bool,
    pulled_stems_reroot: str = "unknown",
    reroot_source: str = "",
    year: SpeciesYear | None = None,
) -> Species:
    found = Findings()
    row = Species(
        code=code,
        scientific_name=scientific_name,
        common_name=common_name,
        evergreen=evergreen,
        resprouts=resprouts,
        pulled_stems_reroot=pulled_stems_reroot,
        reroot_source=reroot_source,
    )
    _year_put(row, year or SpeciesYear())
    _reroot_check(found, row)
    for field, message in phenology_problems(row):
        found.need(False, field, message)
    return row_add(row, stamp=stamp, verb="species_add", findings=found)


def _reroot_check(found: Findings, row: Species) -> None:
    sourced = row.pulled_stems_reroot == "unknown" or bool(row.reroot_source.strip())
    found.need(sourced, "reroot_source", "Say where the answer comes from.")


def _year_put(row: Species, year: SpeciesYear) -> None:
    for name, value in vars(year).items():
        if name not in DAYS:
            setattr(row, name, value)
        elif value is not None:
            setattr(row, f"{name}_month", value[0])
            setattr(row, f"{name}_day", value[1])


@writing()
def species_edit(*, stamp: Stamp, species: Species, expected: int, values: Mapping[str, Any]) -> Species:
    """Change what is known of a species, by the columns of NATURE and PHENOLOGY; its code stays. `expected` is the
    version that was read."""
    found = Findings()
    for name in sorted(set(values) - PHENOLOGY - NATURE):
        found.need(False, name, "cannot be changed here")
    proposed = Species.objects.get(pk=species.pk)
    for name in (PHENOLOGY | NATURE) & set(values):
        setattr(proposed, name, values[name])
    _reroot_check(found, proposed)
    for field, message in phenology_problems(proposed):
        found.need(False, f"{field}_day" if field in DAYS else field, message)
    found.refuse("The species was not changed.")
    return row_edit(species, stamp=stamp, verb="species_edit", expected=expected, values=dict(values))


@writing()
def species_deactivate(*, species: Species, expected: int, stamp: Stamp) -> Species:
    """Offer it for nothing new. Patches that have it, their deadlines and their work stay."""
    return row_edit(species, stamp=stamp, verb="species_deactivate", expected=expected, values={"is_active": False})


@writing()
def species_activate(*, species: Species, expected: int, stamp: Stamp) -> Species:
    return row_edit(species, stamp=stamp, verb="species_activate", expected=expected, values={"is_active": True})


def phenology_problems(row: Species) -> Iterator[tuple[str, str]]:
    """(field, message) of what is wrong with a species' year."""
    told = {name: _told(row, name) for name in DAYS}
    for name, (month, day) in told.items():
        if (month, day) != (None, None) and not _is_day(month, day):
            yield name, f"({month}, {day}) is no month and day."
    for words, (first, last) in RANGES.items():
        if (told[first] == (None, None)) != (told[last] == (None, None)):
            yield last, f"Give both ends of the {words} range, or neither."
    most = row.flower_to_fruit_days
    if most is not None and not 1 <= most <= MOST_FLOWER_TO_FRUIT_DAYS:
        yield "flower_to_fruit_days", f"Must be 1 to {MOST_FLOWER_TO_FRUIT_DAYS} days."
    yield from _sources_missing(row, {name for name, days in told.items() if days != (None, None)})


def _sources_missing(row: Species, told: set[str]) -> Iterator[tuple[str, str]]:
    needed = {DAYS[name] for name in told}
    if row.flower_to_fruit_days is not None:
        needed.add("flower_source")
    for field in sorted(needed):
        if not str(getattr(row, field)).strip():
            yield field, "Say where this comes from."


def _told(row: Species, name: str) -> tuple[int | None, int | None]:
    return getattr(row, f"{name}_month"), getattr(row, f"{name}_day")


def _is_day(month: int | None, day: int | None) -> bool:
    try:
        date(2000, month or 0, day or 0)  # a leap year: February 29 is a day too
    except (TypeError, ValueError):
        return False
    return True
