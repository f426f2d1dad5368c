"""The front door: facts, jobs, rates and prices in; hours, crew time, material, money and ranges out.

`estimate()` works on arrays, one value a job; `explain()` (in `explain.py`) opens one job into every figure behind it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import IntFlag

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.crewday import PaidTime, paid_time, productive_hours
from estimating.effort import Effort, MethodBlock, MixFigures, PairSet, Volumes, method_effort, pair_sets, spray_volumes
from estimating.errors import InvalidFact
from estimating.ground import Ground
from estimating.inputs import ComponentFacts, CrewDay, Jobs, PatchFacts, Prices
from estimating.materials import Mix, products_used
from estimating.money import Money, job_money
from estimating.rate_book import RateBook
from estimating.spread import Range, SeasonFit, order_range, season_fit

CANOPY_CARRIER_UNIT = "l per ha of canopy"


class Note(IntFlag):
    """What is to be said about a job beside its figures; the first two mean that it has no figures."""

    NOT_TREATED = 1
    NO_TIME_LEFT = 2
    PART_NOT_TREATED = 4
    MIX_NOT_CHOSEN = 8
    STEMS_ASSUMED = 16
    COVER_FROM_CLASS = 32


NOTE_TEXT = {
    Note.NOT_TREATED: "This method treats none of the growth forms on the patch.",
    Note.NO_TIME_LEFT: "Drive, walk-in and set-up leave no time to work in a shift.",
    Note.PART_NOT_TREATED: "Some components are of a growth form that this method does not treat; they are left out.",
    Note.MIX_NOT_CHOSEN: "No mix is chosen: hours use the rate book's usual volume, and no product is counted.",
    Note.STEMS_ASSUMED: "Stems were not counted; the rate book's density stands in for them.",
    Note.COVER_FROM_CLASS: "Cover came as a class, so the range is wider.",
}
NO_FIGURES = Note.NOT_TREATED | Note.NO_TIME_LEFT


@dataclass(frozen=True)
class Materials:
    """Material by job; `product_l` by product code. `treated_area_m2` goes by the mix's own basis."""

    treated_area_m2: FloatArray
    spray_volume_l: FloatArray
    tank_loads: FloatArray
    product_l: dict[str, FloatArray]
    debris_m3: FloatArray
    bags: FloatArray


@dataclass(frozen=True)
class EstimateInputs:
    """All that an estimate was made from, kept beside its result."""

    patches: PatchFacts
    components: ComponentFacts
    jobs: Jobs
    rate_book: RateBook
    crew_day: CrewDay
    prices: Prices
    mixes: tuple[Mix, ...]


@dataclass(frozen=True)
class EstimateResult:
    """Figures by job. `time.field_person_hours` equals `hours.likely`; jobs without figures have NaN and 0 cents."""

    inputs: EstimateInputs
    notes: IntArray
    time: PaidTime
    hours: Range
    shared_log_sd: FloatArray
    own_log_sd: FloatArray
    survey_log_sd: FloatArray
    materials: Materials
    money: Money
    blocks: tuple[MethodBlock, ...]

    @property
    def jobs(self) -> Jobs:
        """The jobs, in the order of all arrays."""
        return self.inputs.jobs

    @property
    def ok(self) -> BoolArray:
        """Whether the job has figures."""
        return np.asarray((self.notes & int(NO_FIGURES)) == 0)

    def note_texts(self, job: int) -> tuple[str, ...]:
        """Plain words for a job's notes."""
        return tuple(text for note, text in NOTE_TEXT.items() if int(self.notes[job]) & note)

    def problems(self) -> Iterator[tuple[str, str]]:
        """Id and reason of each job without figures."""
        for job in np.flatnonzero(~self.ok).tolist():
            fatal = int(self.notes[job]) & int(NO_FIGURES)
            yield self.jobs.ids[job], " ".join(text for note, text in NOTE_TEXT.items() if fatal & note)

    def order_log_sd(self) -> FloatArray:
        """Log standard deviation of each job's own error: its crew and ground, and its survey."""
        return np.hypot(self.own_log_sd, self.survey_log_sd)

    def season_hours(self, jobs: IntArray) -> SeasonFit:
        """Total field person-hours of some of the jobs, with the error that jobs of one method share."""
        usable = jobs[self.ok[jobs]]
        return season_fit(
            self.hours.likely[usable],
            self.order_log_sd()[usable],
            self.shared_log_sd[usable],
            self.jobs.method_index[usable],
        )


def mix_figures(jobs: Jobs, rows: IntArray, method: str, mixes: Sequence[Mix], book: RateBook) -> MixFigures:
    """The mix of each of a method's jobs; without one, the rate book's usual volumes."""
    usual_carrier = book.find("allowance", "carrier_l_per_ha", method)
    usual = (
        0.0 if usual_carrier is None else usual_carrier.value,
        book.allowance("stem_dose_ml_per_cm", method, missing=0.0),
        usual_carrier is not None and usual_carrier.unit == CANOPY_CARRIER_UNIT,
        book.allowance("tank_l", method, missing=1.0),
    )
    chosen = [
        (mix.carrier_l_per_ha or 0.0, mix.stem_dose_ml_per_cm or 0.0, mix.area_basis == "canopy", mix.tank_l)
        for mix in mixes
    ]
    table = (*chosen, usual)
    used = jobs.mix[rows]
    if rows.size and (used == used[0]).all():
        return MixFigures(*table[used[0]])
    carrier, dose, by_canopy, tank = (np.array(figure)[used] for figure in zip(*table, strict=True))
    return MixFigures(carrier, dose, by_canopy, tank)


def products_of_jobs(jobs: Jobs, volume_l: FloatArray, mixes: Sequence[Mix]) -> dict[str, FloatArray]:
    """Litres of each product by job."""
    amounts = {product: np.zeros(len(jobs)) for product in products_used(mixes)}
    for index, mix in enumerate(mixes):
        rows = jobs.mix == index
        for part in mix.parts:
            amounts[part.product][rows] += volume_l[rows] * mix.fraction(part)
    return amounts


def treatment_notes(ground: Ground, pairs: PairSet, treated_forms: BoolArray) -> IntArray:
    """Notes about what a method's jobs treat and what their figures rest on."""
    treats = pairs.gather(treated_forms.astype(np.float64)[ground.components.growth_form])
    treated = pairs.by_job(treats)
    count = pairs.by_job(np.ones(len(pairs.job)))
    by_stem = any(step.driver.startswith("stems_") for step in ground.book.method_steps(pairs.method))
    assumed = pairs.by_job(treats * pairs.gather(ground.stems_assumed.astype(np.float64))) > 0
    classed = pairs.by_job(treats * pairs.gather(ground.components.cover_from_class.astype(np.float64))) > 0
    notes = np.where(treated == 0, Note.NOT_TREATED, 0)
    notes |= np.where((treated > 0) & (treated < count), Note.PART_NOT_TREATED, 0)
    notes |= np.where(assumed & by_stem, Note.STEMS_ASSUMED, 0)
    notes |= np.where(classed, Note.COVER_FROM_CLASS, 0)
    return notes


def needs_mix(book: RateBook, method: str) -> bool:
    """Whether a method's steps go by a spray volume or its loads."""
    return any(step.driver in ("spray_volume_l", "tank_loads") for step in book.method_steps(method))


@dataclass
class _Totals:
    """Arrays by job while they are being filled, method by method."""

    notes: IntArray
    hours: FloatArray
    shared: FloatArray
    own: FloatArray
    survey: FloatArray
    volume_l: FloatArray
    area_m2: FloatArray
    loads: FloatArray
    debris_m3: FloatArray
    bags: FloatArray
    skill_hours: dict[str, FloatArray]
    blocks: list[MethodBlock]

    @classmethod
    def empty(cls, jobs: int) -> "_Totals":
        names = ("hours", "shared", "own", "survey", "volume_l", "area_m2", "loads", "debris_m3", "bags")
        arrays: dict[str, FloatArray] = {name: np.zeros(jobs) for name in names}
        return cls(notes=np.zeros(jobs, np.int64), skill_hours={}, blocks=[], **arrays)

    def put(self, rows: IntArray, effort: Effort, volumes: Volumes) -> None:
        """Write one method's figures into its jobs' rows."""
        self.hours[rows] = effort.person_hours
        self.shared[rows] = effort.shared_log_sd
        self.own[rows] = effort.own_log_sd
        self.survey[rows] = effort.survey_log_sd
        self.volume_l[rows] = volumes.job_l
        self.area_m2[rows] = volumes.treated_area_m2
        self.loads[rows] = volumes.loads
        for skill, hours in effort.skill_hours.items():
            self.skill_hours.setdefault(skill, np.zeros(len(self.hours)))[rows] = hours
        self.blocks.append(effort.block)


def _put_debris(totals: _Totals, ground: Ground, pairs: PairSet, treated_forms: BoolArray) -> None:
    """Debris hauled off, and the bags it fills."""
    share = ground.book.allowance("bagged_share", pairs.method, missing=0.0)
    treats = pairs.gather(treated_forms.astype(np.float64)[ground.components.growth_form])
    debris = pairs.by_job(pairs.gather(ground.debris_m3) * treats)
    totals.debris_m3[pairs.job_rows] = debris
    if share:
        totals.bags[pairs.job_rows] = np.ceil(debris * share / ground.book.allowance("bag_m3") - 1e-9)


def _method_totals(inputs: EstimateInputs) -> _Totals:
    ground = Ground(inputs.patches, inputs.components, inputs.rate_book)
    totals = _Totals.empty(len(inputs.jobs))
    for pairs in pair_sets(ground, inputs.jobs):
        treated_forms = inputs.rate_book.treats(pairs.method)
        mix = mix_figures(inputs.jobs, pairs.job_rows, pairs.method, inputs.mixes, inputs.rate_book)
        volumes = spray_volumes(ground, pairs, mix, treated_forms)
        totals.put(pairs.job_rows, method_effort(ground, pairs, volumes), volumes)
        totals.notes[pairs.job_rows] = treatment_notes(ground, pairs, treated_forms)
        if needs_mix(inputs.rate_book, pairs.method):
            totals.notes[pairs.job_rows] |= np.where(inputs.jobs.mix[pairs.job_rows] < 0, Note.MIX_NOT_CHOSEN, 0)
        _put_debris(totals, ground, pairs, treated_forms)
    return totals


def _result(inputs: EstimateInputs, totals: _Totals) -> EstimateResult:
    jobs = inputs.jobs
    a_day = productive_hours(inputs.patches, inputs.crew_day)[jobs.patch_index]
    totals.notes |= np.where(a_day > 0, 0, Note.NO_TIME_LEFT)
    bare = (totals.notes & int(NO_FIGURES)) != 0
    time = paid_time(np.where(bare, np.nan, totals.hours), a_day, inputs.crew_day)
    hours = order_range(time.field_person_hours, np.sqrt(totals.shared**2 + totals.own**2 + totals.survey**2))
    materials = Materials(
        totals.area_m2,
        totals.volume_l,
        totals.loads,
        products_of_jobs(jobs, totals.volume_l, inputs.mixes),
        totals.debris_m3,
        totals.bags,
    )
    drive_km = 2 * inputs.patches.drive_km[jobs.patch_index]
    money = job_money(
        jobs=jobs,
        prices=inputs.prices,
        crew_day=inputs.crew_day,
        time=time,
        hours=hours,
        skill_hours=totals.skill_hours,
        round_trip_km=drive_km,
        product_l=materials.product_l,
        bags=materials.bags,
        survey_log_sd=totals.survey,
    )
    return EstimateResult(
        inputs,
        totals.notes,
        time,
        hours,
        totals.shared,
        totals.own,
        totals.survey,
        materials,
        money,
        tuple(totals.blocks),
    )


def estimate(
    patches: PatchFacts,
    components: ComponentFacts,
    jobs: Jobs,
    rate_book: RateBook,
    crew_day: CrewDay,
    prices: Prices,
    mixes: Sequence[Mix] = (),
) -> EstimateResult:
    """Estimate every job.

    Raises `EstimatingError` where the inputs do not fit together; a job that simply cannot be done gets a note and no
    figures, so that one bad patch does not hide the others.
    """
    components.check_against(patches)
    jobs.check_against(patches, components)
    if (jobs.mix >= len(mixes)).any():
        raise InvalidFact("names no mix", "mix", int(np.flatnonzero(jobs.mix >= len(mixes))[0]))
    inputs = EstimateInputs(patches, components, jobs, rate_book, crew_day, prices, tuple(mixes))
    return _result(inputs, _method_totals(inputs))
