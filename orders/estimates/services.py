"""Writes of methods, rate books and estimates."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

import numpy as np

from estimating.errors import EstimatingError
from estimating.estimate import EstimateResult, estimate
from estimating.explain import explain
from estimating.methods import methods_from_rows
from estimating.rate_book import rate_book_from_rows
from estimating.suitability import Suitability, suit
from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import QualificationKind
from orders.estimates import convert
from orders.estimates.models import Estimate, Method, Rate, RateBook
from orders.estimates.selectors import methods, rate_book_in_force
from orders.sites.models import Survey
from orders.supplies.models import Mix

INPUTS_VERSION = 1


def _named(error: EstimatingError) -> Invalid:
    return Invalid(error.message, [FieldError(error.field or "rows", error.message, error.row, error.code)])


@writing()
def methods_load(
    *,
    rows: Sequence[Mapping[str, str]],
    qualification: Mapping[str, QualificationKind],
    mix: Mapping[str, Mix],
    stamp: Stamp,
) -> list[Method]:
    """Add or replace methods from rows of the methods file; `qualification` and `mix` by method code."""
    try:
        table = methods_from_rows(rows)
    except EstimatingError as error:
        raise _named(error) from error
    return [_method_put(table[row["code"].strip()].name, row, qualification, mix, stamp) for row in rows]


def _method_put(
    name: str,
    row: Mapping[str, str],
    qualification: Mapping[str, QualificationKind],
    mix: Mapping[str, Mix],
    stamp: Stamp,
) -> Method:
    code = row["code"].strip()
    values: dict[str, Any] = {
        "name": name,
        "facts": dict(row),
        "uses_herbicide": row["uses_herbicide"].strip() == "yes",
        "qualification": qualification.get(code),
        "default_mix": mix.get(code),
    }
    known = Method.objects.filter(code=code).first()
    if known is None:
        method = Method.objects.create(code=code, **values)
        change_record(stamp=stamp, verb="method_add", entity=method, after={"facts": dict(row)})
        return method
    before = version_bump(known, expected=None, **values)
    change_record(
        stamp=stamp, verb="method_edit", entity=known, before={"facts": before["facts"]}, after={"facts": dict(row)}
    )
    return known


@writing()
def rate_book_draft(
    *,
    name: str,
    rows: Sequence[Mapping[str, str]],
    standard_crew: Mapping[str, int],
    skill_roles: Mapping[str, str],
    notes: str = "",
    stamp: Stamp,
) -> RateBook:
    """A draft from rows of text; a row that cannot be used is named and nothing is kept."""
    try:
        rate_book_from_rows([{column: row.get(column, "") for column in convert.RATE_COLUMNS} for row in rows])
    except EstimatingError as error:
        raise _named(error) from error
    last = RateBook.objects.filter(name=name).order_by("-edition").first()
    book = RateBook.objects.create(
        name=name,
        edition=last.edition + 1 if last else 1,
        standard_crew=dict(standard_crew),
        skill_roles=dict(skill_roles),
        notes=notes,
    )
    Rate.objects.bulk_create(
        Rate(book=book, line=line, **{column: row.get(column, "") for column in convert.RATE_COLUMNS})
        for line, row in enumerate(rows, start=1)
    )
    change_record(stamp=stamp, verb="rate_book_draft", entity=book, after={"name": name, "rates": len(rows)})
    return book


@writing()
def rate_book_put_in_force(*, book: RateBook, from_day: date, stamp: Stamp) -> RateBook:
    """The draft takes over from the book of the same name that was in force, which retires."""
    if book.state != "draft":
        raise WrongState(f"{book} is {book.get_state_display().lower()}; only a draft can be put in force.")
    for old in RateBook.objects.filter(name=book.name, state="in_force"):
        version_bump(old, expected=None, state="retired")
        change_record(stamp=stamp, verb="rate_book_retire", entity=old, after={"state": "retired"})
    version_bump(book, expected=None, state="in_force", in_force_from=from_day)
    change_record(stamp=stamp, verb="rate_book_put_in_force", entity=book, after={"state": "in_force"})
    return book


def survey_suitability(surveys: Sequence[Survey], repeat_years: Mapping[int, int]) -> Suitability:
    """Which methods fit each component of the surveys, and why. Computed, not stored: it follows the rules of today."""
    patches = convert.patch_facts(surveys, repeat_years)
    return suit(patches, convert.component_facts(surveys), convert.method_table(methods()))


@writing()
def estimates_make(
    *, surveys: Sequence[Survey], on: date, repeat_years: Mapping[int, int], stamp: Stamp
) -> list[Estimate]:
    """Estimate every method that fits, for every survey, by the rate book in force and the prices of a day.

    An estimate with the same inputs is not made twice: the one that stands is returned.
    """
    if not surveys:
        return []
    book = rate_book_in_force()
    listed = list(methods())
    result = _estimate(surveys, book, listed, on=on, repeat_years=repeat_years)
    made = [
        _row(result, int(job), surveys=surveys, listed=listed, book=book, stamp=stamp)
        for job in np.flatnonzero(result.ok)
    ]
    return _store(made, book=book, stamp=stamp)


def _estimate(
    surveys: Sequence[Survey], book: RateBook, listed: list[Method], *, on: date, repeat_years: Mapping[int, int]
) -> EstimateResult:
    known = convert.rates(book)
    patches, components = convert.patch_facts(surveys, repeat_years), convert.component_facts(surveys)
    suited = suit(patches, components, convert.method_table(listed))
    mixes = [convert.mix_facts(method.default_mix) for method in listed if method.default_mix]
    jobs = convert.jobs(patches, components, suited, listed, [mix.code for mix in mixes])
    prices = convert.price_list(book, on)
    return estimate(patches, components, jobs, known, convert.crew_day(book, known), prices, mixes)


def _row(
    result: EstimateResult, job: int, *, surveys: Sequence[Survey], listed: list[Method], book: RateBook, stamp: Stamp
) -> Estimate:
    """One job's figures as a row, with the inputs that it alone depends on."""
    survey = surveys[int(result.jobs.patch_index[job])]
    method = listed[int(result.jobs.method_index[job])]
    inputs = _inputs(result, job, book)
    time, hours, money, materials = result.time, result.hours, result.money, result.materials
    return Estimate(
        survey=survey,
        method=method,
        rate_book=book,
        mix=method.default_mix,
        repeat_year=int(result.inputs.patches.repeat_year[result.jobs.patch_index[job]]),
        fingerprint=convert.fingerprint({"survey": survey.fingerprint, "method": method.code, **inputs}),
        inputs=inputs,
        result=explain(result, job),
        main_species_code=_main_species(result, job),
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
        own_log_sd=float(result.order_log_sd()[job]),
        shared_log_sd=float(result.shared_log_sd[job]),
        labor_cents=int(money.labor_cents[job]),
        material_cents=int(money.material_cents[job]),
        equipment_cents=int(money.equipment_cents[job]),
        mileage_cents=int(money.mileage_cents[job]),
        total_cents=int(money.total_cents[job]),
        cost_low_cents=int(money.low_cents[job]),
        cost_high_cents=int(money.high_cents[job]),
        at=stamp.at,
        by=stamp.by,
    )


def _pairs(result: EstimateResult, job: int) -> list[int]:
    return [int(row) for row in result.jobs.pair_component[result.jobs.pair_job == job]]


def _inputs(result: EstimateResult, job: int, book: RateBook) -> dict[str, Any]:
    """What this estimate depends on, frozen; the rates themselves are those of the named book, which never change."""
    inputs = result.inputs
    mix = int(result.jobs.mix[job])
    return {
        "version": INPUTS_VERSION,
        "patch": _plain(inputs.patches.row(int(result.jobs.patch_index[job]))),
        "components": [
            {"species": inputs.components.species[row], **_plain(inputs.components.row(row))}
            for row in _pairs(result, job)
        ],
        "method": result.jobs.methods[int(result.jobs.method_index[job])],
        "mix": asdict(inputs.mixes[mix]) if mix >= 0 else None,
        "crew_day": asdict(inputs.crew_day),
        "prices": asdict(inputs.prices),
        "rate_book": {"name": book.name, "edition": book.edition, "id": str(book.public_id)},
    }


def _plain(row: Mapping[str, Any]) -> dict[str, Any]:
    """JSON has no NaN: what was not observed is null. The index within this run means nothing later."""
    return {name: _no_nan(value) for name, value in row.items() if name != "patch_index"}


def _no_nan(value: Any) -> Any:
    if isinstance(value, list):
        return [_no_nan(item) for item in value]
    return None if isinstance(value, float) and np.isnan(value) else value


def _main_species(result: EstimateResult, job: int) -> str:
    """The species with the most infested area among those treated, for the reports by species."""
    components = result.inputs.components
    return max((float(components.infested_area_m2[row]), components.species[row]) for row in _pairs(result, job))[1]


def _store(made: list[Estimate], *, book: RateBook, stamp: Stamp) -> list[Estimate]:
    known = {row.fingerprint: row for row in Estimate.objects.filter(fingerprint__in=[row.fingerprint for row in made])}
    new = Estimate.objects.bulk_create([row for row in made if row.fingerprint not in known])
    if new:
        change_record(stamp=stamp, verb="estimates_make", entity=book, after={"estimates": len(new)})
    return [known.get(row.fingerprint, row) for row in made]
