"""Surveys, species and close-outs as the inputs of seed deadlines."""

from calendar import monthrange
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from estimating.inputs import GROWTH_FORMS
from orders.reminders.seeding import FruitRange, MonthDay, SeedInputs, Sighting
from orders.reminders.selectors import (
    Work,
    components_that_fruit,
    removal_work,
    shares_on_orders,
    surveys_standing,
)
from orders.sites.models import GrowthForm, Species

WHOLE = 0.999  # shares are floating-point products of percents


class Key(NamedTuple):
    """What a deadline is of, within its year."""

    patch_id: int
    species_id: int
    growth_form_id: int


class Removal(NamedTuple):
    """Work that removes fruit was complete on a day. `treated`: (species code, growth form) of each component."""

    on: date
    treated: frozenset[tuple[str, str]] | None

    def covers(self, species: str, growth_form: str) -> bool:
        return self.treated is None or (species, growth_form) in self.treated


def seed_inputs(year: int, known: Iterable[Key] = ()) -> dict[Key, SeedInputs]:
    """The inputs of every component that some standing survey shows as able to fruit, and of those known already."""
    species = {row.pk: row for row in Species.objects.order_by("pk")}
    forms = {row.pk: row.code for row in GrowthForm.objects.order_by("pk")}
    removals = removals_of(removal_work(year), year)
    sightings: dict[Key, tuple[Sighting, ...]] = {**dict.fromkeys(known, ()), **_sightings(year)}
    return {
        key: SeedInputs(
            year=year,
            species=species[key.species_id].common_name,
            growth_form=forms[key.growth_form_id],
            fruits=fruit_range(species[key.species_id]),
            sightings=seen,
            flowers_first=_month_day(
                species[key.species_id].flower_first_month, species[key.species_id].flower_first_day
            ),
            flower_to_fruit_days=species[key.species_id].flower_to_fruit_days,
            removed_on=_removed_on(removals[key.patch_id], species[key.species_id].code, forms[key.growth_form_id]),
        )
        for key, seen in sightings.items()
    }


def _sightings(year: int) -> dict[Key, tuple[Sighting, ...]]:
    """By component: each standing survey of its patch, newest first, whether it shows the component or not."""
    shown: dict[Key, dict[int, tuple[str, str]]] = defaultdict(dict)
    for survey_id, patch_id, species_id, growth_form_id, fertile, condition in components_that_fruit(year):
        shown[Key(patch_id, species_id, growth_form_id)][survey_id] = fertile, condition
    surveys: dict[int, list[tuple[int, date]]] = defaultdict(list)
    for survey_id, patch_id, observed_on in surveys_standing(year):
        surveys[patch_id].append((survey_id, observed_on))
    found = {
        key: tuple(Sighting(survey, on, *answers.get(survey, ("no",))) for survey, on in surveys[key.patch_id])
        for key, answers in shown.items()
    }
    return {key: seen for key, seen in found.items() if any(sighting.may_fruit for sighting in seen)}


def fruit_range(species: Species) -> FruitRange | None:
    first = _month_day(species.fruit_first_month, species.fruit_first_day)
    last = _month_day(species.fruit_last_month, species.fruit_last_day)
    return None if first is None else FruitRange(first, last or (12, 31))


def _month_day(month: int | None, day: int | None) -> MonthDay | None:
    """A day that every year has; None where the record names none: one wrong species must not stop all reminders."""
    if (month, day) == (2, 29):
        return 2, 28
    if month is None or day is None or not 1 <= month <= 12 or not 1 <= day <= monthrange(2001, month)[1]:
        return None
    return month, day


def _removed_on(removals: Iterable[Removal], species: str, growth_form: str) -> tuple[date, ...]:
    return tuple(sorted({removal.on for removal in removals if removal.covers(species, growth_form)}))


def removals_of(work: Sequence[Work], year: int) -> Mapping[int, list[Removal]]:
    """By patch: the days of the year on which a prescription was done whole.

    A prescription may be split over orders and leave remainders, which are prescriptions of their own. It is whole on
    the day on which the parts that close-outs state sum to what was asked; a part alone, though done to 100%, is not.
    """
    share_of = shares_on_orders({row.order_id for row in work})
    asked = {row.prescription_id: row.share_left for row in work}
    parent = {row.prescription_id: row.follows_id for row in work if row.origin == "remainder" and row.follows_id}
    done: dict[int, float] = defaultdict(float)
    found: dict[int, list[Removal]] = defaultdict(list)
    for row in work:
        root = _root(row.prescription_id, parent)
        wanted = WHOLE * asked.get(root, 1.0)
        before = done[root]
        part = row.share_left * share_of.get((row.order_id, row.prescription_id), 0.0)
        done[root] += part * row.percent_complete / 100
        if before < wanted <= done[root] and row.work_date.year == year:
            found[row.patch_id].append(Removal(row.work_date, _treated(row)))
    return found


def _root(prescription_id: int, parent: Mapping[int, int]) -> int:
    while prescription_id in parent:
        prescription_id = parent[prescription_id]
    return prescription_id


def _treated(row: Work) -> frozenset[tuple[str, str]] | None:
    """What the estimate behind it treats; an estimate that does not say so is of the whole patch."""
    if row.components is None:
        return None
    return frozenset((component["species"], GROWTH_FORMS[component["growth_form"]]) for component in row.components)
