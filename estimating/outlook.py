"""What a patch's cover becomes over the years under each course of treatment, and what the years ahead ask for.

One year of a component under a method, with cover c as a fraction of its infested area:

    left      c' = c x (1 - kill)
    untreated u  = u + spread x u x (1 - u)
    end       c  = c' + (regrowth x c' + arrival) x (1 - c' / u)

`kill` is the share of the cover that does not come back from its own roots; `regrowth` how fast what is left takes its
ground back, share a year while the ground is free; `arrival` cover a year from seed and from outside; `spread` how fast
ground that nobody treats goes on closing, which is also the most that treated ground can come back to. The three
courses are: no treatment, the method once, and the method every year.

The form is ours. Its figures are allowances of the rate book (`kill_share` by method and growth form,
`regrowth_a_year`, `spread_a_year`, `arrival_a_year`), each with its own source, so that they have versions and can be
tuned. They are set so that nothing published is contradicted: ten years after one treatment of wintercreeper no
difference among treatments could be detected, save that tarping kept a reduction (Mattingly et al. 2016, J. Torrey Bot.
Soc.); so it is the repeated work that holds the cover. The effect of a spray shows after about 6 months and is complete
after 12 to 18 (Litzsinger Road Ecology Center): the end of year 1 is the earliest that a check can speak of.

Low and high: kill, regrowth and the survey's cover are each moved alone to their 10 and 90% points, and what the cover
moves by is added up as the root of the sum of squares, as for errors that know nothing of each other.
"""

import dataclasses
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.estimate import EstimateInputs, estimate
from estimating.inputs import GROWTH_FORMS, ComponentFacts, PatchFacts
from estimating.rate_book import RateBook
from estimating.spread import HIGH_Z

YEARS_AHEAD = 5
LOW, LIKELY, HIGH = range(3)
NOT_WITHIN = -1

# The likely course, then kill, regrowth and the first cover each alone at its low and its high cover.
_KILL_STEPS = HIGH_Z * np.array([0, 1, -1, 0, 0, 0, 0])
_REGROWTH_STEPS = HIGH_Z * np.array([0, 0, 0, -1, 1, 0, 0])
_START_POINTS = np.array([LIKELY, LIKELY, LIKELY, LIKELY, LIKELY, LOW, HIGH])
_LOWS, _HIGHS = slice(1, None, 2), slice(2, None, 2)

EFFECT_SHOWS_AFTER_MONTHS = 6
KILL_COMPLETE_AFTER_MONTHS = (12, 18)
EFFECT_SOURCE = "Litzsinger Road Ecology Center, restoration update on wintercreeper"
HELD_BY_REPEATED_WORK = (
    "One treatment does not last: ten years on, no difference among treatments could be detected, tarping apart. "
    "It is the repeated work that holds the cover."
)
HELD_SOURCE = "Mattingly et al. 2016, J. Torrey Bot. Soc."


@dataclass(frozen=True)
class Assumptions:
    """The rate book's figures. Kill and regrowth [variant, method, form], the likely one first, then with one of both
    moved; `spread` and `arrival` [form]; `known` [method]: the book has them for the method."""

    methods: tuple[str, ...]
    kill: FloatArray
    regrowth: FloatArray
    spread: FloatArray
    arrival: FloatArray
    known: BoolArray


def _moved_share(share: float, log_odds_sd: float, steps: FloatArray) -> FloatArray:
    """A share moved on the scale of log odds, so that it stays between 0 and 1."""
    if share <= 0 or share >= 1:
        return np.full(len(steps), min(max(share, 0.0), 1.0))
    odds = np.log(share / (1 - share)) + log_odds_sd * steps
    return np.asarray(1 / (1 + np.exp(-odds)))


def _figures(
    book: RateBook, name: str, method: str, form: str, steps: FloatArray, *, as_odds: bool
) -> tuple[FloatArray, bool]:
    row = book.find("allowance", name, method, form)
    if row is None:
        return np.zeros(len(steps)), False
    if as_odds:
        return _moved_share(row.value, row.own_spread, steps), True
    return np.minimum(row.value * np.exp(row.own_spread * steps), 1.0), True


def assumptions(book: RateBook, methods: Sequence[str]) -> Assumptions:
    """Read the allowances; a method that the book has no `kill_share` or `regrowth_a_year` for is not `known`."""
    shape = (len(_START_POINTS), len(methods), len(GROWTH_FORMS))
    kill, regrowth, known = np.zeros(shape), np.zeros(shape), np.ones(len(methods), dtype=bool)
    for m, method in enumerate(methods):
        for f, form in enumerate(GROWTH_FORMS):
            kill[:, m, f], has_kill = _figures(book, "kill_share", method, form, _KILL_STEPS, as_odds=True)
            regrowth[:, m, f], has_regrowth = _figures(
                book, "regrowth_a_year", method, form, _REGROWTH_STEPS, as_odds=False
            )
            known[m] &= has_kill and has_regrowth
    return Assumptions(
        tuple(methods),
        kill,
        regrowth,
        book.form_allowance("spread_a_year", missing=0.0),
        book.form_allowance("arrival_a_year", missing=0.0),
        known,
    )


def untreated_year(cover: FloatArray, spread: FloatArray) -> FloatArray:
    """u + spread x u x (1 - u): one more year in which nobody does anything."""
    return np.asarray(cover + spread * cover * (1 - cover))


def treated_year(
    cover: FloatArray, ceiling: FloatArray, kill: FloatArray, regrowth: FloatArray, arrival: FloatArray
) -> FloatArray:
    """Cover at the end of a year that began with a treatment; never above the untreated `ceiling`."""
    left = cover * (1 - kill)
    with np.errstate(invalid="ignore", divide="ignore"):
        free = np.where(ceiling > 0, 1 - left / ceiling, 0.0)
    return np.minimum(left + (regrowth * left + arrival) * free, ceiling)


@dataclass(frozen=True)
class Outlook:
    """Cover by patch, as the mean over its components by infested area; points are low, likely, high.

    `untreated` [patch, year, point]; `once` and `kept_up` [patch, method, year, point]; year 0 is the survey. Methods
    that are not `known`, and those that treat nothing on a patch (`treats` [patch, method]), keep the untreated course.
    """

    methods: tuple[str, ...]
    target: FloatArray
    untreated: FloatArray
    once: FloatArray
    kept_up: FloatArray
    treats: BoolArray
    known: BoolArray

    @property
    def years(self) -> tuple[int, ...]:
        """0 is the survey."""
        return tuple(range(self.untreated.shape[1]))

    def after_one_season(self) -> FloatArray:
        """Cover at the end of year 1 [patch, method, point]."""
        return self.once[:, :, 1]

    def reached_and_held(self) -> IntArray:
        """First year from which the likely cover is at or below the target to the end [patch, method]; else -1."""
        within = self.kept_up[..., LIKELY] <= self.target[:, None, None]
        held = np.flip(np.logical_and.accumulate(np.flip(within, axis=2), axis=2), axis=2)
        return np.where(held.any(axis=2), held.argmax(axis=2), NOT_WITHIN)

    def back_above(self) -> IntArray:
        """After the method once: first year above the target after one at or below it [patch, method]; else -1."""
        within = self.once[..., LIKELY] <= self.target[:, None, None]
        was_within = np.logical_or.accumulate(within, axis=2)
        back = was_within & ~within
        return np.where(back.any(axis=2), back.argmax(axis=2), NOT_WITHIN)


def _by_patch(values: FloatArray, components: ComponentFacts, patches: int) -> FloatArray:
    """Mean over the components of each patch, weighted by infested area; a patch without any has 0."""
    weight = components.infested_area_m2.reshape(-1, *[1] * (values.ndim - 1))
    total = np.zeros((patches, *values.shape[1:]))
    whole = np.zeros(patches)
    np.add.at(total, components.patch_index, values * weight)
    np.add.at(whole, components.patch_index, components.infested_area_m2)
    return np.asarray(total / np.where(whole > 0, whole, 1.0).reshape(-1, *[1] * (values.ndim - 1)))


def _courses(
    start: FloatArray, form: IntArray, treated: BoolArray, known: Assumptions, years: int
) -> tuple[list[FloatArray], list[FloatArray], list[FloatArray]]:
    """Year by year: untreated [component, 1, variant], once and kept up [component, method, variant]."""
    kill = known.kill[:, :, form].transpose(2, 1, 0) * treated[:, :, None]
    regrowth = known.regrowth[:, :, form].transpose(2, 1, 0)
    spread, arrival = known.spread[form][:, None, None], known.arrival[form][:, None, None]
    untreated, once, kept_up = [start], [np.broadcast_to(start, kill.shape)], [np.broadcast_to(start, kill.shape)]
    for year in range(1, years + 1):
        ceiling = untreated_year(untreated[-1], spread)
        untreated.append(ceiling)
        first = kill if year == 1 else np.zeros_like(kill)
        once.append(np.where(treated[:, :, None], treated_year(once[-1], ceiling, first, regrowth, arrival), ceiling))
        again = treated_year(kept_up[-1], ceiling, kill, regrowth, arrival)
        kept_up.append(np.where(treated[:, :, None], again, ceiling))
    return untreated, once, kept_up


def _points(variants: FloatArray) -> FloatArray:
    """Low, likely and high of [..., variant]: what each error moves alone, as the root of the sum of squares."""
    likely = variants[..., 0]
    down = np.sqrt((np.maximum(likely[..., None] - variants[..., _LOWS], 0) ** 2).sum(axis=-1))
    up = np.sqrt((np.maximum(variants[..., _HIGHS] - likely[..., None], 0) ** 2).sum(axis=-1))
    return np.stack([np.maximum(likely - down, 0), likely, np.minimum(likely + up, 1)], axis=-1)


def outlook(
    patches: PatchFacts,
    components: ComponentFacts,
    treated: BoolArray,
    known: Assumptions,
    years: int = YEARS_AHEAD,
) -> Outlook:
    """Cover over the years. `treated` [component, method]: the method is for this component."""
    components.check_against(patches)
    does = treated & known.known & (known.kill[0] > 0)[:, components.growth_form].T
    seen = np.stack([components.cover_low, components.cover_likely, components.cover_high], axis=1)
    start = seen[:, None, _START_POINTS]
    courses = _courses(start, components.growth_form.astype(np.int64), does, known, years)
    untreated, once, kept_up = (
        _points(np.stack([_by_patch(np.asarray(year), components, len(patches)) for year in course], axis=-2))
        for course in courses
    )
    once, kept_up = np.minimum(once, untreated), np.minimum(kept_up, untreated)
    treats = np.zeros((len(patches), len(known.methods)), dtype=bool)
    np.logical_or.at(treats, components.patch_index, does)
    return Outlook(known.methods, patches.target_cover, untreated[:, 0], once, kept_up, treats, known.known)


def hours_ahead(inputs: EstimateInputs, years: int = YEARS_AHEAD) -> FloatArray:
    """Field person-hours [job, year] of years 1 to `years`, each year worked by the job's own method.

    Each year is the rate book's own estimate with the patch's repeat year moved on, so that year 2 follows the book's
    factor and from year 3 on the hours go by the cover of maintenance and not by the first cover (Dryad
    doi:10.5061/dryad.rbnzs7hpb). NaN where the job has no figures.
    """
    found = []
    for ahead in range(years):
        patches = dataclasses.replace(inputs.patches, repeat_year=inputs.patches.repeat_year + ahead)
        result = estimate(
            patches,
            inputs.components,
            inputs.jobs,
            inputs.rate_book,
            inputs.crew_day,
            inputs.prices,
            inputs.mixes,
        )
        found.append(result.time.field_person_hours)
    return np.stack(found, axis=1)
