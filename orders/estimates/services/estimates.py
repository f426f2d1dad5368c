"""Writes of estimates: computed first, outside the write lock; stored under it, once for the same inputs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from estimating.estimate import EstimateResult
from estimating.explain import explain_all
from estimating.suitability import Suitability
from orders.common.changes import change_record
from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates import convert
from orders.estimates.explained import form_shares, survey_log_sd
from orders.estimates.job_inputs import FrozenInputs, fingerprint_of
from orders.estimates.left_out import LeftOut, left_out, methods_lacking
from orders.estimates.models import Estimate, Method, RateBook
from orders.estimates.selectors import methods, rate_book_in_force
from orders.sites.models import Survey

ASKED_AT_ONCE = 10_000


def survey_suitability(surveys: Sequence[Survey], repeat_years: Mapping[int, int]) -> Suitability:
    """Which methods fit each component of the surveys, and why. Computed, not stored: it follows the rules of today."""
    patches = convert.patch_facts(surveys, repeat_years)
    return convert.judged(patches, convert.component_facts(surveys), list(methods()))


@dataclass(frozen=True)
class EstimatesComputed:
    """Fingerprints of all estimates asked for, in the order of their surveys, those that were not stored yet, and what
    was left out.

    `book` is None where nothing was asked.
    """

    fingerprints: tuple[str, ...]
    new: tuple[Estimate, ...]
    book: RateBook | None
    left_out: tuple[LeftOut, ...] = ()


def estimates_make(
    *,
    surveys: Sequence[Survey],
    on: date,
    repeat_years: Mapping[int, int],
    crew_kind: str = "staff",
    book: RateBook | None = None,
    stamp: Stamp,
) -> list[Estimate]:
    """Estimate every method that fits, for every survey, by the rate book that holds for the kind of crew (or the one
    given) and the prices of a day.

    An estimate with the same inputs is not made twice: the one that stands is returned. Another survey, book or price
    makes a new one beside the old.
    """
    computed = estimates_compute(surveys=surveys, on=on, repeat_years=repeat_years, crew_kind=crew_kind, book=book)
    return estimates_store(computed=computed, stamp=stamp)


def estimates_compute(
    *,
    surveys: Sequence[Survey],
    on: date,
    repeat_years: Mapping[int, int],
    crew_kind: str = "staff",
    book: RateBook | None = None,
) -> EstimatesComputed:
    """The figures alone, explained only where no estimate with the same inputs stands. What cannot be priced is left
    out and told; the rest is made.

    What they rest on cannot change until they are stored: surveys are never overwritten, and a rate book only while it
    is a draft, by which nothing is estimated.
    """
    if not surveys:
        return EstimatesComputed((), (), None)
    chosen = book or rate_book_in_force(crew_kind, on)
    if chosen.state == "draft":
        raise WrongState(f"{chosen} is a draft: its rates may still change, so nothing is estimated by it.")
    listed = {method.code: method for method in methods() if method.is_active}
    lacking = methods_lacking(listed.values(), on)
    priced = [method for code, method in listed.items() if code not in lacking]
    asked = convert.estimate_inputs(surveys, chosen, priced, on=on, repeat_years=repeat_years)
    result = convert.estimated(asked)
    frozen = FrozenInputs(asked, chosen)
    found = [_Found(frozen, job, surveys) for job in np.flatnonzero(result.ok).tolist()]
    standing = _standing([one.fingerprint for one in found])
    new = [one for one in found if one.fingerprint not in standing]
    opened, own_log_sd = explain_all(result, [one.job for one in new]), result.order_log_sd().tolist()
    rows = [
        _row(result, one, listed, book=chosen, opened=shown, own_log_sd=own_log_sd[one.job])
        for one, shown in zip(new, opened, strict=True)
    ]
    bare = {listed[code]: told for code, told in lacking.items()}
    gone = left_out(surveys, chosen, bare, on=on, repeat_years=repeat_years)
    return EstimatesComputed(tuple(one.fingerprint for one in found), tuple(rows), chosen, gone)


class _Found:
    """A job with figures: its survey, the inputs that it alone depends on, and their fingerprint."""

    def __init__(self, frozen: FrozenInputs, job: int, surveys: Sequence[Survey]) -> None:
        self.job = job
        self.survey = surveys[int(frozen.asked.jobs.patch_index[job])]
        self.inputs = frozen.of(job)
        self.fingerprint = fingerprint_of(self.survey, self.inputs)
        self.components = frozen.components(job)


def _batches(fingerprints: Sequence[str]) -> Iterator[Sequence[str]]:
    """As many at a time as every database takes in one question."""
    return (fingerprints[first : first + ASKED_AT_ONCE] for first in range(0, len(fingerprints), ASKED_AT_ONCE))


def _standing(fingerprints: Sequence[str]) -> set[str]:
    """Which of these are stored."""
    stored = Estimate.objects.order_by().values_list("fingerprint", flat=True)
    return {each for some in _batches(fingerprints) for each in stored.filter(fingerprint__in=some)}


@writing()
def estimates_store(*, computed: EstimatesComputed, stamp: Stamp) -> list[Estimate]:
    """Store what is not there yet; the rows that stand, in the order computed. Those that stood already come without
    their inputs and explanation, which are read when they are asked for."""
    prints = computed.fingerprints
    light = Estimate.objects.defer("inputs", "result")
    known = {row.fingerprint: row for some in _batches(prints) for row in light.filter(fingerprint__in=some)}
    new = [row for row in computed.new if row.fingerprint not in known]
    for row in new:
        row.at, row.by = stamp.at, stamp.by
    Estimate.objects.bulk_create(new)
    if new and computed.book is not None:
        change_record(stamp=stamp, verb="estimates_make", entity=computed.book, after={"estimates": len(new)})
    known |= {row.fingerprint: row for row in new}
    return [known[each] for each in prints]


def _row(
    result: EstimateResult,
    found: _Found,
    listed: Mapping[str, Method],
    *,
    book: RateBook,
    opened: dict[str, Any],
    own_log_sd: float,
) -> Estimate:
    """One job's figures as a row; `opened` is its explanation."""
    job = found.job
    method = listed[result.jobs.methods[int(result.jobs.method_index[job])]]
    time, hours, money, materials = result.time, result.hours, result.money, result.materials
    contract = int(money.contract_cents[job])
    return Estimate(
        survey=found.survey,
        method=method,
        rate_book=book,
        mix=method.default_mix,
        repeat_year=int(result.inputs.patches.repeat_year[result.jobs.patch_index[job]]),
        fingerprint=found.fingerprint,
        inputs=found.inputs,
        result=opened,
        main_species_code=_main_species(result, found.components),
        treated_area_m2=float(materials.treated_area_m2[job]),
        spray_volume_l=float(materials.spray_volume_l[job]),
        products_ul={
            code: round(float(litres[job]) * 1e6) for code, litres in materials.product_l.items() if litres[job]
        },
        person_hours=float(time.field_person_hours[job]),
        paid_person_hours=float(time.paid_person_hours[job]),
        crew_hours=float(time.crew_hours[job]),
        crew_days=float(time.crew_days[job]),
        hours_low=float(hours.low[job]),
        hours_likely=float(hours.likely[job]),
        hours_high=float(hours.high[job]),
        hours_mean=float(hours.mean[job]),
        own_log_sd=own_log_sd,
        shared_log_sd=float(result.shared_log_sd[job]),
        survey_log_sd=survey_log_sd(opened),
        form_shares=form_shares(opened, found.inputs),
        labor_cents=int(money.labor_cents[job]),
        material_cents=int(money.material_cents[job]),
        equipment_cents=int(money.equipment_cents[job]),
        mileage_cents=int(money.mileage_cents[job]),
        total_cents=int(money.total_cents[job]),
        cost_low_cents=int(money.low_cents[job]),
        cost_high_cents=int(money.high_cents[job]),
        contingency_cents=int(money.contingency_cents[job]),
        contract_cents=contract if contract >= 0 else None,
    )


def _main_species(result: EstimateResult, treated: Sequence[int]) -> str:
    """The species with the most infested area among those treated, for the reports by species."""
    components = result.inputs.components
    return max((float(components.infested_area_m2[row]), components.species[row]) for row in treated)[1]
