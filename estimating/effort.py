"""Field effort of jobs in person-hours, step by step.

    hours of a step = rate x quantity x cover^b x factors

summed over the components a job treats. What goes by the whole patch (search and walking on the gross area) counts once
a patch and outing however many components it has; what goes by the visit or the tank load counts once a job.

A climbing vine is parted by two cuts: the low one (stems by class, which is also the one that is treated) and an upper
one (`upper_cuts`); what grows above it is left to die in place. Common practice.

These are standard hours: of a trained crew, each with room to work. `pace.py` turns them into field hours.
"""

from dataclasses import dataclass

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from estimating.ground import BY_STEMS, Ground
from estimating.inputs import Jobs
from estimating.materials import area_volume_l, load_count, stem_volume_l
from estimating.rate_book import Step


@dataclass(frozen=True)
class PairSet:
    """Jobs of one method and the components they treat; `component` None: all components, in their own order.

    `search_m2`: the ground searched for each job.
    """

    method: str
    job_rows: IntArray
    patch: IntArray
    search_m2: FloatArray
    job: IntArray
    component: IntArray | None

    def gather(self, values: FloatArray) -> FloatArray:
        """Values by component as values by pair."""
        return values if self.component is None else values[self.component]

    def by_job(self, values: FloatArray) -> FloatArray:
        """Sums of values by pair over each job."""
        return np.bincount(self.job, weights=values, minlength=len(self.job_rows)).astype(np.float64, copy=False)


@dataclass(frozen=True)
class MixFigures:
    """The mix of each job of a method, as single values where all jobs have the same one."""

    carrier_l_per_ha: float | FloatArray = 0.0
    stem_dose_ml_per_cm: float | FloatArray = 0.0
    by_canopy: bool | BoolArray = False
    tank_l: float | FloatArray = 1.0

    def by_pair(self, name: str, pairs: PairSet) -> float | FloatArray:
        """One figure as a value or as values by pair."""
        value = getattr(self, name)
        return value[pairs.job] if isinstance(value, np.ndarray) else value


@dataclass(frozen=True)
class Volumes:
    """Spray volume by pair and by job, treated area by job, and loads by job.

    `by_stem` and `by_canopy` (1 or 0) say what the volume goes by, and so whose errors it shares.
    """

    pair_l: FloatArray
    job_l: FloatArray
    treated_area_m2: FloatArray
    loads: FloatArray
    by_stem: float | FloatArray
    by_canopy: float | FloatArray


@dataclass(frozen=True)
class StepTerms:
    """The factors of the product hours = hours_per_unit x quantity x cover_term x factor, by pair or by job."""

    hours_per_unit: FloatArray
    quantity: FloatArray
    cover_term: FloatArray | float
    factor: FloatArray

    @property
    def hours(self) -> FloatArray:
        """Person-hours."""
        return self.hours_per_unit * self.quantity * self.cover_term * self.factor


@dataclass(frozen=True)
class MethodBlock:
    """Breakdown of the jobs of one method: `hours[job, step]`, with the step's names and the jobs' rows."""

    method: str
    job_rows: IntArray
    steps: tuple[str, ...]
    hours: FloatArray


@dataclass(frozen=True)
class Effort:
    """Standard hours of the jobs of one method, with the log standard deviations of their kinds of error."""

    block: MethodBlock
    person_hours: FloatArray
    shared_log_sd: FloatArray
    own_log_sd: FloatArray
    cover_log_sd: FloatArray
    area_log_sd: FloatArray
    stems_log_sd: FloatArray
    skill_hours: dict[str, FloatArray]

    @property
    def survey_log_sd(self) -> FloatArray:
        """All that the survey may have wrong: cover, area and stems, independent of each other."""
        return np.sqrt(self.cover_log_sd**2 + self.area_log_sd**2 + self.stems_log_sd**2)


@dataclass
class SurveyHours:
    """Hours by pair that move with each thing the survey may have wrong, in proportion to the log of it."""

    area: FloatArray
    cover: FloatArray
    stems: FloatArray

    def add(
        self, hours: FloatArray, area: float | FloatArray, cover: float | FloatArray, stems: float | FloatArray
    ) -> None:
        """Hours with their weight on each; a weight of 0 for all takes no time."""
        for name, weight in (("area", area), ("cover", cover), ("stems", stems)):
            if isinstance(weight, np.ndarray) or weight:
                sums = getattr(self, name)
                sums += hours * weight


def outing_leads(jobs: Jobs) -> BoolArray:
    """Which jobs carry what is paid once an outing: the first of each outing, and every job without one."""
    leads = jobs.outing < 0
    with_outing = np.flatnonzero(~leads)
    _, first = np.unique(jobs.outing[with_outing], return_index=True)
    leads[with_outing[first]] = True
    return np.asarray(leads)


def searched_m2(ground: Ground, jobs: Jobs) -> FloatArray:
    """Ground searched for each job: what the job says, else the gross area for the first of an outing and 0 after."""
    whole = ground.patches.gross_area_m2[jobs.patch_index] * outing_leads(jobs)
    return np.where(np.isnan(jobs.search_area_m2), whole, jobs.search_area_m2)


def pair_sets(ground: Ground, jobs: Jobs) -> list[PairSet]:
    """The jobs grouped by method, in the order of `jobs.methods`."""
    search_m2 = searched_m2(ground, jobs)
    pair_method = jobs.method_index[jobs.pair_job]
    local = np.zeros(len(jobs), np.int64)
    everything = np.arange(len(ground.components))
    found = []
    for index, method in enumerate(jobs.methods):
        rows = np.flatnonzero(jobs.method_index == index)
        if not rows.size:
            continue
        local[rows] = np.arange(rows.size)
        chosen = np.flatnonzero(pair_method == index)
        component = jobs.pair_component[chosen]
        whole = component.size == everything.size and bool((component == everything).all())
        found.append(
            PairSet(
                method,
                rows,
                jobs.patch_index[rows],
                search_m2[rows],
                local[jobs.pair_job[chosen]],
                None if whole else component,
            )
        )
    return found


def spray_volumes(ground: Ground, pairs: PairSet, mix: MixFigures, treated_forms: BoolArray) -> Volumes:
    """Mix needed by each pair and job; components of a form that the method does not treat take none."""
    treats = pairs.gather(treated_forms.astype(np.float64)[ground.components.growth_form])
    infested = pairs.gather(ground.components.infested_area_m2)
    area = np.where(mix.by_pair("by_canopy", pairs), pairs.gather(ground.canopy_m2), infested) * treats
    volume = area_volume_l(area, mix.by_pair("carrier_l_per_ha", pairs))
    volume = volume + stem_volume_l(pairs.gather(ground.stem_cm) * treats, mix.by_pair("stem_dose_ml_per_cm", pairs))
    by_job = pairs.by_job(volume)
    by_stem = 1.0 - np.sign(mix.by_pair("carrier_l_per_ha", pairs))
    by_canopy = (1.0 - by_stem) * mix.by_pair("by_canopy", pairs)
    return Volumes(volume, by_job, pairs.by_job(area), load_count(by_job, mix.tank_l), by_stem, by_canopy)


def component_terms(ground: Ground, pairs: PairSet, step: Step, volumes: Volumes) -> StepTerms:
    """Terms of a step whose quantity lives with the component, by pair."""
    rate = np.nan_to_num(step.hours_per_unit)[ground.components.growth_form]
    quantity = (
        volumes.pair_l if step.driver == "spray_volume_l" else pairs.gather(ground.quantity(step.driver, step.method))
    )
    return StepTerms(
        pairs.gather(rate), quantity, pairs.gather(ground.cover_term(step)), pairs.gather(ground.factor(step))
    )


def job_terms(ground: Ground, pairs: PairSet, step: Step, volumes: Volumes) -> StepTerms:
    """Terms of a step whose quantity goes with the whole job, by job."""
    if step.driver == "gross_area_m2":
        quantity = pairs.search_m2
    elif step.driver == "tank_loads":
        quantity = volumes.loads
    else:
        quantity = np.ones(len(pairs.job_rows))
    rate = np.full(len(pairs.job_rows), step.hours_per_unit[0])
    return StepTerms(rate, quantity, 1.0, ground.patch_factor(step.patch_factors)[pairs.patch])


def _spread_by_job(
    ground: Ground, pairs: PairSet, by_form: FloatArray, pair: FloatArray, job: FloatArray
) -> FloatArray:
    """Hours x spread of one step by job; one multiplication where all forms have the same spread."""
    if (by_form == by_form[0]).all():
        return np.asarray(job * by_form[0])
    return pairs.by_job(pair * pairs.gather(by_form[ground.components.growth_form]))


def _add_component_step(
    ground: Ground, pairs: PairSet, step: Step, volumes: Volumes, pair: FloatArray, moved: SurveyHours
) -> None:
    """Which of the survey's errors move a component step: those of its quantity, and of its cover to the b."""
    uniform = bool((step.cover_exponent == step.cover_exponent[0]).all())
    by_form = step.cover_exponent[0] if uniform else step.cover_exponent[ground.components.growth_form]
    exponent = pairs.gather(by_form) if isinstance(by_form, np.ndarray) else float(by_form)
    if step.driver in BY_STEMS:
        moved.add(pair, 0.0, exponent, 1.0)
    elif step.driver == "infested_area_m2":
        moved.add(pair, 1.0, exponent, 0.0)
    elif step.driver == "spray_volume_l":
        moved.add(pair, 1.0 - volumes.by_stem, volumes.by_canopy + exponent, volumes.by_stem)
    else:
        moved.add(pair, 1.0, 1.0 + exponent, 0.0)


def _add_job_step(pairs: PairSet, step: Step, volumes: Volumes, hours: FloatArray, moved: SurveyHours) -> None:
    """Loads follow the volume, and so the errors of what it goes by."""
    if step.driver == "tank_loads":
        share = volumes.pair_l / np.where(volumes.job_l > 0, volumes.job_l, 1.0)[pairs.job]
        moved.add(hours[pairs.job] * share, 1.0 - volumes.by_stem, volumes.by_canopy, volumes.by_stem)


def _survey_sd(ground: Ground, pairs: PairSet, moved: SurveyHours, searched: FloatArray) -> dict[str, FloatArray]:
    """Hours x log standard deviation of each of the survey's errors, by job.

    Stems that a density stands in for follow cover and area too.
    """
    by_density = moved.stems * pairs.gather(ground.stems_assumed.astype(np.float64))
    return {
        "cover_log_sd": pairs.by_job((moved.cover + by_density) * pairs.gather(ground.cover_sd)),
        "area_log_sd": pairs.by_job((moved.area + by_density) * pairs.gather(ground.area_sd))
        + searched * ground.patch_area_sd[pairs.patch],
        "stems_log_sd": pairs.by_job(moved.stems * pairs.gather(ground.stems_sd)),
    }


def method_effort(ground: Ground, pairs: PairSet, volumes: Volumes) -> Effort:
    """Standard hours of all jobs of one method.

    Each kind of error moves all hours of a job together (the same crew on the same ground, the same observer), so that
    a job's log standard deviation of a kind is the hours-weighted mean of its steps' ones. The kinds are independent.
    """
    steps = ground.book.method_steps(pairs.method)
    hours = np.zeros((len(steps), len(pairs.job_rows)))
    shared, own, searched = np.zeros_like(hours[0]), np.zeros_like(hours[0]), np.zeros_like(hours[0])
    moved = SurveyHours(*(np.zeros(len(pairs.job)) for _ in range(3)))
    skill_hours: dict[str, FloatArray] = {}
    for index, step in enumerate(steps):
        pair = np.zeros(0)
        if step.by_component:
            pair = component_terms(ground, pairs, step, volumes).hours
            hours[index] = pairs.by_job(pair)
            _add_component_step(ground, pairs, step, volumes, pair, moved)
        else:
            hours[index] = job_terms(ground, pairs, step, volumes).hours
            _add_job_step(pairs, step, volumes, hours[index], moved)
        if step.driver == "gross_area_m2":
            searched += hours[index]
        shared += _spread_by_job(ground, pairs, step.shared_spread, pair, hours[index])
        own += _spread_by_job(ground, pairs, step.own_spread, pair, hours[index])
        skill_hours[step.skill] = skill_hours.get(step.skill, 0.0) + hours[index]
    total = hours.sum(axis=0)
    safe = np.where(total > 0, total, 1.0)
    block = MethodBlock(pairs.method, pairs.job_rows, tuple(step.name for step in steps), hours.T)
    survey = {name: moved_by / safe for name, moved_by in _survey_sd(ground, pairs, moved, searched).items()}
    return Effort(block, total, shared_log_sd=shared / safe, own_log_sd=own / safe, skill_hours=skill_hours, **survey)
