"""The front door: facts, jobs, rates and prices in; hours, crew time, material, money and ranges out.

`estimate()` works on arrays, one value a job; `explain()` (in `explain.py`) opens one job into every figure behind it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from estimating.amounts import Materials, products_of_jobs
from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.consumables import consumables
from estimating.crewday import PaidTime, day_work_minutes, paid_time, productive_hours
from estimating.effort import Effort, MethodBlock, MixFigures, PairSet, method_effort, pair_sets, spray_volumes
from estimating.errors import InvalidFact
from estimating.ground import Ground
from estimating.inputs import ComponentFacts, CrewDay, Jobs, PatchFacts, Prices
from estimating.materials import Mix
from estimating.money import NO_CONTINGENCY, Money, job_money
from estimating.notes import NO_FIGURES, NOTE_TEXT, Note, job_notes
from estimating.pace import Pace, crew_limits, crew_pace, crowding
from estimating.rate_book import RateBook
from estimating.spread import Range, SeasonFit, order_range, season_fit

CANOPY_CARRIER_UNIT = "l per ha of canopy"


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
    """Figures by job. `time.field_person_hours` equals `hours.likely`; jobs without figures have NaN and 0 cents.

    `blocks` hold standard hours by step, `pace` what makes field hours of them (None in results frozen before it was
    kept).
    """

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
    pace: Pace | None = None

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


_BY_JOB = (
    "standard",
    "hours",
    "shared",
    "own",
    "survey",
    "volume_l",
    "area_m2",
    "loads",
    "debris_m3",
    "bags",
    "worked_m2",
    "sent",
    "crowding",
)


@dataclass
class _Totals:
    """Arrays by job while they are being filled, method by method."""

    notes: IntArray
    figures: dict[str, FloatArray]
    skill_hours: dict[str, FloatArray]
    blocks: list[MethodBlock]

    @classmethod
    def empty(cls, jobs: int) -> "_Totals":
        return cls(np.zeros(jobs, np.int64), {name: np.zeros(jobs) for name in _BY_JOB}, {}, [])

    def put(self, rows: IntArray, **figures: FloatArray | float) -> None:
        """Write one method's figures into its jobs' rows."""
        for name, values in figures.items():
            self.figures[name][rows] = values

    def put_effort(self, rows: IntArray, effort: Effort, stretch: FloatArray) -> None:
        """Write one method's hours, as field hours where they are paid for."""
        self.put(
            rows,
            standard=effort.person_hours,
            hours=effort.person_hours * stretch,
            shared=effort.shared_log_sd,
            own=effort.own_log_sd,
            survey=effort.survey_log_sd,
        )
        for skill, hours in effort.skill_hours.items():
            self.skill_hours.setdefault(skill, np.zeros(len(self.notes)))[rows] = hours * stretch
        self.blocks.append(effort.block)


def _put_debris(totals: _Totals, ground: Ground, pairs: PairSet, treats: FloatArray) -> None:
    """Debris cut or pulled, and the bags it fills."""
    share = ground.book.allowance("bagged_share", pairs.method, missing=0.0)
    debris = pairs.by_job(pairs.gather(ground.debris_m3(pairs.method)) * treats)
    totals.put(pairs.job_rows, debris_m3=debris)
    if share:
        totals.put(pairs.job_rows, bags=np.ceil(debris * share / ground.book.allowance("bag_m3") - 1e-9))


def _put_method(totals: _Totals, inputs: EstimateInputs, ground: Ground, pairs: PairSet) -> None:
    """All figures of the jobs of one method."""
    book, rows, size = inputs.rate_book, pairs.job_rows, inputs.crew_day.size
    treated_forms = book.treats(pairs.method)
    treats = pairs.gather(treated_forms.astype(np.float64)[ground.components.growth_form])
    mix = mix_figures(inputs.jobs, rows, pairs.method, inputs.mixes, book)
    volumes = spray_volumes(ground, pairs, mix, treated_forms)
    limits = crew_limits(book, pairs.method)
    worked_m2 = pairs.by_job(pairs.gather(ground.components.infested_area_m2) * treats)
    crowd = crowding(limits.sent(size), worked_m2, limits.elbow_room_m2)
    totals.put_effort(rows, method_effort(ground, pairs, volumes), crowd / crew_pace(inputs.crew_day))
    totals.put(rows, volume_l=volumes.job_l, area_m2=volumes.treated_area_m2, loads=volumes.loads)
    totals.put(rows, worked_m2=worked_m2, sent=limits.sent(size), crowding=crowd)
    totals.notes[rows] = job_notes(ground, pairs, inputs.jobs, size)
    _put_debris(totals, ground, pairs, treats)


def _method_totals(inputs: EstimateInputs) -> _Totals:
    ground = Ground(inputs.patches, inputs.components, inputs.rate_book)
    totals = _Totals.empty(len(inputs.jobs))
    for pairs in pair_sets(ground, inputs.jobs):
        _put_method(totals, inputs, ground, pairs)
    return totals


def _materials(inputs: EstimateInputs, totals: _Totals, time: PaidTime) -> Materials:
    found, jobs = totals.figures, inputs.jobs
    used = consumables(time.field_person_hours / time.people, jobs.method_index, jobs.methods, inputs.rate_book)
    return Materials(
        found["area_m2"],
        found["volume_l"],
        found["loads"],
        products_of_jobs(jobs, found["volume_l"], inputs.mixes),
        found["debris_m3"],
        found["bags"],
        used.fuel_l,
        used.blades,
    )


def _result(inputs: EstimateInputs, totals: _Totals) -> EstimateResult:
    jobs, found, day = inputs.jobs, totals.figures, inputs.crew_day
    a_day = productive_hours(inputs.patches, day)[jobs.patch_index]
    no_time = Note.NO_TIME_LEFT if day_work_minutes(day) else Note.HEAT_STOPS_WORK
    totals.notes |= np.where(a_day > 0, 0, int(no_time))
    bare = (totals.notes & int(NO_FIGURES)) != 0
    time = paid_time(np.where(bare, np.nan, found["hours"]), a_day, day, found["sent"])
    log_sd = np.sqrt(found["shared"] ** 2 + found["own"] ** 2 + found["survey"] ** 2)
    hours = order_range(time.field_person_hours, log_sd)
    materials = _materials(inputs, totals, time)
    money = job_money(
        jobs=jobs,
        prices=inputs.prices,
        crew_day=day,
        time=time,
        skill_hours=totals.skill_hours,
        round_trip_km=2 * inputs.patches.drive_km[jobs.patch_index],
        materials=materials,
        worked_area_m2=found["worked_m2"],
        log_sd=log_sd,
        survey_log_sd=found["survey"],
        contingency_level=inputs.rate_book.allowance("contingency_level", missing=NO_CONTINGENCY),
    )
    pace = Pace(found["standard"], found["worked_m2"], found["sent"], found["crowding"], crew_pace(day))
    return EstimateResult(
        inputs,
        totals.notes,
        time,
        hours,
        found["shared"],
        found["own"],
        found["survey"],
        materials,
        money,
        tuple(totals.blocks),
        pace,
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
