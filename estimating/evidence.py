"""A rate book held against what is published about the shape of effort.

The published figures are few, and most are soft: costs from elsewhere, ratios read off abstracts, one practitioner's
record. So nothing here refuses a book; each figure outside its range is told with its source, and a person decides.

Every figure comes from `estimate` itself, run on a standard patch: one hectare, all of it infested by one component,
even and flat, 20 minutes' drive away, a trained crew of four. Methods are known by the codes of the reference table;
what a program calls otherwise is held only against what is true of every method.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise, product
from math import isnan, log, nan

import numpy as np

from estimating.columns import FloatArray
from estimating.errors import UnknownCode
from estimating.estimate import EstimateResult, estimate
from estimating.inputs import GROWTH_FORMS, ComponentFacts, CrewDay, PatchFacts, Prices, pair_all
from estimating.methods import MethodTable
from estimating.rate_book import RateBook
from estimating.units import ACRES_PER_HECTARE, SQUARE_METRES_PER_HECTARE

PULL, MOW, SPRAY = "hand-pull", "mow-mulch", "spot-foliar"
CUT, CUT_STEM, GIRDLE, DIG = "cut", "cut-stem", "girdle", "dig"
# Methods whose work goes plant by plant, so that density counts; machines and whole-area sprays go by the ground.
BY_HAND = (PULL, DIG, CUT, CUT_STEM, GIRDLE, "hack-squirt", "basal-bark", SPRAY)
ACACIA_ORDER = (CUT, CUT_STEM, GIRDLE, DIG)
VINES = ("climbing", "sprawling")

# Midpoints of the classes 1-5% and 75-100% (our choice), and covers between.
SCATTERED, CLOSED = 0.03, 0.875
RISING = (0.02, 0.1, 0.3, 0.6, 1.0)
MODERATE = 0.5
THIN, THICK = 0.1, 0.9
SPARSE, DENSE = 0.05, 0.95
COVERS = tuple(sorted({SCATTERED, CLOSED, MODERATE, THIN, THICK, SPARSE, DENSE, *RISING}))
YEARS = (1, 2, 3)

MARAIS_2008 = "Marais & Wannenburgh 2008, abstract: costs along rivers, 1-5% against 75-100% cover"
MARAIS_2004 = "Marais, van Wilgen & Stevens 2004, S. Afr. J. Sci. 100:97-103: costs rise sharply with density"
SARE = "SARE GNE10-004, https://projects.sare.org/project-reports/gne10-004 (in crops)"
ACACIA_1989 = "S. Afr. J. Plant Soil 6(1):39-45 (1989), Acacia clearing; its authors call precision at high density low"
LADDER = (
    "Agency cost ladder in 'Efficient Control of Bush Honeysuckle' (one presentation): 1,200 against 100-200 $/acre"
)
DRYAD = "Dryad doi:10.5061/dryad.rbnzs7hpb (2025): related to the first cover in years 1 and 2 only, lower after year 1"
VINE_PULLING = (
    "Brock 2017 (Pleasant Valley Conservancy), lower end; 'Bittersweet battles', Northern Woodlands, x 1.3, upper end: "
    "two practitioners, the band is our judgment"
)

# The crew and the rates of the standard patch: invented, and the same for every book, so that only the rates differ.
PEOPLE = {"crew lead": 1, "crew member": 3}
RATES_E4 = {"crew lead": 360_000, "crew member": 280_000, "certified applicator": 400_000}
APPLICATOR = "applicator"


@dataclass(frozen=True)
class BookWarning:
    """One figure of a book that lies outside of a published range; `high` None: no upper end.

    `text` says it in plain words, `soft` whether the evidence is weak. `method` and `growth_form` say where; blank
    where several are compared.
    """

    code: str
    text: str
    source: str
    figure: float
    low: float
    high: float | None
    soft: bool = True
    method: str = ""
    growth_form: str = ""


@dataclass(frozen=True)
class Published:
    """A published range, and where it comes from."""

    code: str
    low: float
    high: float | None
    source: str
    soft: bool = True

    def holds(self, figure: float) -> bool:
        """Whether a figure lies within, both ends included, a last digit aside."""
        return figure >= self.low - 1e-9 and (self.high is None or figure <= self.high + 1e-9)

    def against(self, figure: float, text: str, method: str = "", form: str = "") -> Iterator[BookWarning]:
        """A warning where the figure lies outside; a method that does not treat the form (NaN) is not held to it."""
        if not isnan(figure) and not self.holds(figure):
            yield BookWarning(self.code, text, self.source, figure, self.low, self.high, self.soft, method, form)


DENSITY = Published("density-scaling", 3, 25, MARAIS_2008)
RISES = Published("rises-with-cover", 1 + 1e-6, None, MARAIS_2004, soft=False)
PULL_POWER = Published("pull-by-density", 0.85, 1, SARE)
MOW_POWER = Published("mow-by-ground", -0.05, 0.05, SARE)
BETWEEN = Published("spread-between-methods", 4.6, 17.3, ACACIA_1989)
ORDER = Published("order-of-methods", 1, None, ACACIA_1989)
STUMPS = Published("stump-treatment", 1.4, 2.6, f"{ACACIA_1989}: about double, taken as within 30%")
TO_FOLIAR = Published("stumps-to-foliar", 6, 12, LADDER)
LATER = Published("later-years", 1, 1, DRYAD, soft=False)
SECOND = Published("second-year", 0.2, 1, f"{DRYAD}; the lower end is a bound of sanity")
DENSE_VINES = Published("dense-vine-pulling", 100, 750, VINE_PULLING)


@dataclass(frozen=True)
class Trial:
    """The standard patch in every growth form, cover and year, by every method of the book."""

    book: RateBook
    names: dict[str, str]
    result: EstimateResult
    rows: dict[tuple[str, int, float], int]

    def _job(self, method: str, form: str, cover: float, year: int) -> int | None:
        if method not in self.names:
            return None
        return self.result.jobs.methods.index(method) * len(self.rows) + self.rows[form, year, cover]

    def hours(self, method: str, form: str, cover: float, year: int = 1) -> float:
        """Field person-hours; NaN where the method does not treat the form."""
        job = self._job(method, form, cover, year)
        return nan if job is None else float(self.result.time.field_person_hours[job])

    def dollars(self, method: str, form: str, cover: float) -> float:
        """Cost of the job; NaN where there is none."""
        job = self._job(method, form, cover, 1)
        if job is None or not self.result.ok[job]:
            return nan
        return float(self.result.money.total_cents[job]) / 100

    def plant_hours(self, method: str, form: str, cover: float) -> float:
        """Hours of the steps that go by the plants, without search, mixing and what is paid once a visit."""
        job = self._job(method, form, cover, 1)
        if job is None or not self.result.ok[job]:
            return nan
        block = next(block for block in self.result.blocks if block.method == method)
        by_plants = np.array([step.by_component for step in self.book.method_steps(method)])
        row = int(np.flatnonzero(block.job_rows == job)[0])
        return float(block.hours[row][by_plants].sum())


def _standard_prices(book: RateBook, methods: tuple[str, ...]) -> Prices:
    """Rates of pay alone: what a product or a machine costs is no property of a rate book."""
    skills = {step.skill for method in methods for step in book.method_steps(method)}
    roles = {skill: "certified applicator" if skill == APPLICATOR else "crew member" for skill in skills}
    return Prices(role_rate_e4_per_hour=RATES_E4, skill_role=roles)


def _repeated(value: float, count: int) -> FloatArray:
    return np.full(count, value)


def _trial(book: RateBook, methods: MethodTable, prices: Prices | None) -> Trial:
    names = {method.code: method.name for method in methods.methods if method.code in book.steps}
    if not names:
        raise UnknownCode("the rate book has none of these methods", "methods")
    cases = list(product(GROWTH_FORMS, YEARS, COVERS))
    count = len(cases)
    covers = np.array([cover for _, _, cover in cases])
    ids = tuple(f"{form}, {cover:.1%}, year {year}" for form, year, cover in cases)
    patches = PatchFacts(
        ids=ids,
        gross_area_m2=_repeated(SQUARE_METRES_PER_HECTARE, count),
        drive_minutes=_repeated(20.0, count),
        repeat_year=np.array([year for _, year, _ in cases]),
    )
    components = ComponentFacts(
        ids=ids,
        species=("any",) * count,
        patch_index=np.arange(count),
        growth_form=np.array([GROWTH_FORMS.index(form) for form, _, _ in cases], np.int8),
        infested_area_m2=_repeated(SQUARE_METRES_PER_HECTARE, count),
        cover_low=covers,
        cover_likely=covers,
        cover_high=covers,
    )
    used = tuple(names)
    jobs = pair_all(patches, components, used)
    result = estimate(patches, components, jobs, book, CrewDay(people=PEOPLE), prices or _standard_prices(book, used))
    rows = {(form, year, cover): row for row, (form, year, cover) in enumerate(cases)}
    return Trial(book, names, result, rows)


def _over(dearer: float, cheaper: float) -> float:
    return dearer / cheaper if cheaper > 0 else nan


def _density(trial: Trial) -> Iterator[BookWarning]:
    """S1: closed stands took 3 to 25 times as much as very scattered ones."""
    for method, form in product(BY_HAND, GROWTH_FORMS):
        figure = _over(trial.hours(method, form, CLOSED), trial.hours(method, form, SCATTERED))
        text = (
            f"{trial.names.get(method, method)}, {form}: {figure:.1f} times the hours at {CLOSED:.1%} cover as at "
            f"{SCATTERED:.0%}; 3 to 25 times was found."
        )
        yield from DENSITY.against(figure, text, method, form)


def _rises(trial: Trial) -> Iterator[BookWarning]:
    """S2: the denser, the longer, at each step of cover."""
    for method, form in product(BY_HAND, GROWTH_FORMS):
        rising = [trial.hours(method, form, cover) for cover in RISING]
        figure = min(_over(after, before) for before, after in pairwise(rising))
        text = f"{trial.names.get(method, method)}, {form}: denser ground does not take longer everywhere."
        yield from RISES.against(figure, text, method, form)


def _powers(trial: Trial) -> Iterator[BookWarning]:
    """S3: work with hand tools is proportional to density, that of wheeled machines does not follow it."""
    for published, method, words in (
        (PULL_POWER, PULL, "hand work is nearly proportional to density (power 1)"),
        (MOW_POWER, MOW, "machines work at the same pace whatever the density (power 0)"),
    ):
        for form in GROWTH_FORMS:
            ratio = _over(trial.plant_hours(method, form, THICK), trial.plant_hours(method, form, THIN))
            figure = log(ratio) / log(THICK / THIN) if ratio > 0 else nan
            text = f"{trial.names.get(method, method)}, {form}: hours go by cover to the power {figure:.2f}; {words}."
            yield from published.against(figure, text, method, form)


def _between(trial: Trial) -> Iterator[BookWarning]:
    """S5: the dearest method cost 4.6 to 17.3 times the cheapest on the same ground."""
    for cover in (MODERATE, CLOSED):
        costs = [cost for method in ACACIA_ORDER if (cost := trial.dollars(method, "shrub", cover)) > 0]
        figure = _over(max(costs), min(costs)) if len(costs) == len(ACACIA_ORDER) else nan
        text = (
            f"Shrubs at {cover:.1%} cover: the dearest of cutting, cut-stem treatment, girdling and digging costs "
            f"{figure:.1f} times the cheapest; 4.6 to 17.3 times was found."
        )
        yield from BETWEEN.against(figure, text, form="shrub")


def _order(trial: Trial) -> Iterator[BookWarning]:
    """S6: cutting, then cut and treated, then ringing the bark, then digging."""
    for cheaper, dearer in pairwise(ACACIA_ORDER):
        figure = _over(trial.dollars(dearer, "shrub", CLOSED), trial.dollars(cheaper, "shrub", CLOSED))
        text = (
            f"Closed shrubs: {trial.names.get(dearer, dearer)} costs {figure:.2f} times "
            f"{trial.names.get(cheaper, cheaper)}; it was found to be the dearer of the two."
        )
        yield from ORDER.against(figure, text, dearer, "shrub")


def _stumps(trial: Trial) -> Iterator[BookWarning]:
    """S6: treating the stumps about doubled the cost of felling."""
    figure = _over(trial.dollars(CUT_STEM, "shrub", CLOSED), trial.dollars(CUT, "shrub", CLOSED))
    text = f"Closed shrubs: cutting with treated stumps costs {figure:.2f} times cutting alone; about double was found."
    yield from STUMPS.against(figure, text, CUT_STEM, "shrub")


def _to_foliar(trial: Trial) -> Iterator[BookWarning]:
    """S7: cut and treated, 6 to 12 times the cost of spraying the leaves."""
    figure = _over(trial.dollars(CUT_STEM, "shrub", CLOSED), trial.dollars(SPRAY, "shrub", CLOSED))
    text = f"Closed shrubs: cut-stem treatment costs {figure:.1f} times foliar spray; an agency paid 6 to 12 times."
    yield from TO_FOLIAR.against(figure, text, CUT_STEM, "shrub")


def _later(trial: Trial) -> Iterator[BookWarning]:
    """S9: from the third year on, the first cover no longer tells. True of every book while `ground.py` holds it."""
    for method, form in product(trial.names, GROWTH_FORMS):
        figure = _over(trial.hours(method, form, DENSE, 3), trial.hours(method, form, SPARSE, 3))
        text = (
            f"{trial.names[method]}, {form}: the third year still takes {figure:.2f} times as long where it was dense."
        )
        yield from LATER.against(figure, text, method, form)


def _second(trial: Trial) -> Iterator[BookWarning]:
    """The second year takes a fifth to all of the first."""
    for method, form in product(trial.names, GROWTH_FORMS):
        figure = _over(trial.hours(method, form, MODERATE, 2), trial.hours(method, form, MODERATE))
        text = f"{trial.names[method]}, {form}: the second year takes {figure:.2f} of the first; 0.2 to 1 is expected."
        yield from SECOND.against(figure, text, method, form)


def _dense_vines(trial: Trial) -> Iterator[BookWarning]:
    """100 to 750 person-hours an acre of dense vines, pulled by hand."""
    for form in VINES:
        figure = trial.hours(PULL, form, CLOSED) / ACRES_PER_HECTARE
        text = f"Dense {form} vines pulled by hand: {figure:.0f} person-hours an acre; 100 to 750 is in practice."
        yield from DENSE_VINES.against(figure, text, PULL, form)


CHECKS: tuple[Callable[[Trial], Iterator[BookWarning]], ...] = (
    _density,
    _rises,
    _powers,
    _between,
    _order,
    _stumps,
    _to_foliar,
    _later,
    _second,
    _dense_vines,
)


def book_warnings(book: RateBook, methods: MethodTable, prices: Prices | None = None) -> tuple[BookWarning, ...]:
    """Figures of a rate book that lie outside of what is published, in the order of the checks; none: all within.

    Hours are field person-hours, costs are what `estimate` makes of them by `prices` (left out: invented rates of pay,
    no material, no machines). Sources stand in each warning. Raises `UnknownCode` where the book has none of the
    methods, and what `estimate` raises where prices lack a role or a skill.
    """
    trial = _trial(book, methods, prices)
    return tuple(warning for check in CHECKS for warning in check(trial))
