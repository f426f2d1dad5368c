"""Estimates made again in memory, with nothing stored: does one still stand, what would another rate book change, and
does a book agree with what is published?

Whatever the number of estimates, their surveys are read once and estimated in one go.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np

from estimating.columns import FloatArray, IntArray
from estimating.errors import EstimatingError
from estimating.estimate import EstimateInputs, EstimateResult
from estimating.evidence import BookWarning, book_warnings
from estimating.pricing import to_cents
from estimating.spread import SeasonFit, season_fit
from orders.estimates import convert
from orders.estimates.job_inputs import FrozenInputs
from orders.estimates.models import Estimate, RateBook
from orders.estimates.selectors import methods, rate_books_holding
from orders.sites.models import Survey
from orders.sites.selectors import surveys, surveys_current

# Part of the frozen inputs -> what is said where it is no more the same.
STALE_WORDS = {
    "patch": "A fact of its patch has changed.",
    "components": "A fact of its components or their species has changed.",
    "mix": "Its mix has changed.",
    "crew_day": "The crew's day has changed.",
    "prices": "Standard rates or prices have changed.",
}
NO_JOB = "Its method does not fit the patch any more, or the rate book has no rates for it."


@dataclass(frozen=True)
class Asked:
    """Estimates as estimating's jobs: `job_of` gives the job of each estimate's id; absent where there is none."""

    inputs: EstimateInputs
    job_of: Mapping[int, int]
    frozen: FrozenInputs


def _asked(made: Sequence[Estimate], book: RateBook, on: date) -> Asked:
    """One row of the patches for each survey and year of treatment, one job for each estimate."""
    places = {place: row for row, place in enumerate(dict.fromkeys((one.survey_id, one.repeat_year) for one in made))}
    found = {survey.pk: survey for survey in surveys().filter(pk__in={survey_id for survey_id, _ in places})}
    rows: list[Survey] = [found[survey_id] for survey_id, _ in places]
    wanted = {(places[one.survey_id, one.repeat_year], one.method.code) for one in made}
    years = [year for _, year in places]
    inputs = convert.estimate_inputs(rows, book, methods(), on=on, repeat_years=years, wanted=wanted)
    asked = inputs.jobs
    jobs = {
        (int(patch), asked.methods[int(method)]): job
        for job, (patch, method) in enumerate(zip(asked.patch_index, asked.method_index, strict=True))
    }
    at = {one.pk: jobs.get((places[one.survey_id, one.repeat_year], one.method.code)) for one in made}
    return Asked(inputs, {pk: job for pk, job in at.items() if job is not None}, FrozenInputs(inputs, book))


def estimates_stale(made: Iterable[Estimate], on: date) -> dict[int, list[str]]:
    """By an estimate's own key, why estimating again on that day would give another one; empty where it still stands.

    An estimate never changes by itself: this only says that its survey, rate book, facts or prices have moved on.
    """
    listed = list(made)
    holding = rate_books_holding(on)
    newest = dict(_newest(listed))
    found: dict[int, list[str]] = {}
    for kind in {one.rate_book.crew_kind for one in listed}:
        of_kind = [one for one in listed if one.rate_book.crew_kind == kind]
        book = holding.get(kind)
        asked = _asked(of_kind, book, on) if book else None
        for one in of_kind:
            moved = [] if newest.get(one.survey.patch_id) == one.survey_id else [_survey_words(one)]
            found[one.pk] = moved + _moved(one, asked, book)
    return found


def _newest(made: Sequence[Estimate]) -> Iterable[tuple[int, int]]:
    patches = {one.survey.patch_id for one in made}
    return surveys_current().filter(patch__in=patches).order_by().values_list("patch_id", "pk")


def _survey_words(estimate: Estimate) -> str:
    return "Its survey was voided." if estimate.survey.voided_at else "A newer survey of its patch counts now."


def _moved(estimate: Estimate, asked: Asked | None, book: RateBook | None) -> list[str]:
    if asked is None or book is None:
        return ["No rate book is in force for its kind of crew."]
    other = [f"{book} holds now."] if book.pk != estimate.rate_book_id else []
    job = asked.job_of.get(estimate.pk)
    if job is None:
        return [*other, NO_JOB]
    now = _as_stored(asked.frozen.of(job))
    then = convert.inputs_read(estimate.inputs)
    return other + [words for part, words in STALE_WORDS.items() if now[part] != then[part]]


def _as_stored(inputs: Mapping[str, Any]) -> dict[str, Any]:
    """As the database gives it back: tuples are lists there."""
    stored: dict[str, Any] = json.loads(json.dumps(inputs, default=str))
    return stored


def rate_book_warnings(book: RateBook) -> tuple[BookWarning, ...]:
    """Where a book goes against published figures. A person decides: nothing is refused because of them."""
    known = convert.rates_checked(convert.rate_rows(book))
    try:
        return book_warnings(known, convert.method_table(methods()))
    except EstimatingError as error:
        raise convert.refusal_of(error) from error


@dataclass(frozen=True)
class EffectRow:
    """One estimate: as it stands and as the book would make it; `share` of it is still to be done.

    `new_hours` and `new_cents` are None where the book makes no estimate. `same_prices`: it was made at the prices of
    the day asked about, so that the whole change is the rate book's.
    """

    estimate: Estimate
    share: float
    old_hours: float
    new_hours: float | None
    old_cents: int
    new_cents: int | None
    same_prices: bool


@dataclass(frozen=True)
class EffectSum:
    """Rows together; those that the book makes no estimate for are counted and left out of both sides."""

    name: str
    rows: int
    left_out: int
    old_hours: float
    new_hours: float
    old_cents: int
    new_cents: int

    @property
    def cents_change(self) -> int:
        return self.new_cents - self.old_cents


@dataclass(frozen=True)
class Effect:
    """What putting a book in force would change. Ranges are of the field hours of all rows together."""

    book: RateBook
    on: date
    rows: tuple[EffectRow, ...]
    old_range: SeasonFit
    new_range: SeasonFit

    @cached_property
    def by_method(self) -> list[EffectSum]:
        names = sorted({row.estimate.method.name for row in self.rows})
        return [_sum(name, [row for row in self.rows if row.estimate.method.name == name]) for name in names]

    @cached_property
    def total(self) -> EffectSum:
        return _sum("All open work", self.rows)

    @property
    def other_prices(self) -> int:
        """Rows whose change is in part one of prices."""
        return sum(not row.same_prices for row in self.rows)


def rate_book_effect(
    book: RateBook, made: Iterable[Estimate], on: date, shares: Mapping[int, float] | None = None
) -> Effect:
    """Make estimates again by a book, a draft too, at the prices of a day. Nothing is stored.

    Only estimates for the book's kind of crew count. `shares` by estimate: how much of it is still to be done (1 where
    it is not named); hours and money on both sides are those shares.
    """
    listed = [one for one in made if one.rate_book.crew_kind == book.crew_kind]
    if not listed:  # a first book may not be able to price anything yet, and need not
        none = _fit(np.zeros(0), np.zeros((3, 0)), np.zeros(0, dtype=np.int64))
        return Effect(book, on, (), none, none)
    try:
        asked = _asked(listed, book, on)
    except EstimatingError as error:
        raise convert.refusal_of(error) from error
    result = convert.estimated(asked.inputs)
    share = {one.pk: (shares or {}).get(one.pk, 1.0) for one in listed}
    rows = [_effect_row(one, asked, result, share[one.pk]) for one in listed]
    both = [row.estimate for row in rows if row.new_hours is not None]
    jobs = np.array([asked.job_of[one.pk] for one in both], dtype=np.int64)
    weight = np.array([share[one.pk] for one in both], dtype=float)
    group = np.array([one.method_id for one in both], dtype=np.int64)
    old = np.array([(one.hours_likely, one.own_log_sd, one.shared_log_sd) for one in both], dtype=float)
    new = result.hours.likely[jobs], result.order_log_sd()[jobs], result.shared_log_sd[jobs]
    return Effect(book, on, tuple(rows), _fit(weight, old.reshape(-1, 3).T, group), _fit(weight, new, group))


def _fit(weight: FloatArray, figures: Sequence[FloatArray] | FloatArray, group: IntArray) -> SeasonFit:
    """Of likely hours, own and shared log spread."""
    likely, own, shared = figures
    return season_fit(likely * weight, own, shared, group)


def _effect_row(estimate: Estimate, asked: Asked, result: EstimateResult, share: float) -> EffectRow:
    """Without figures where the estimate's method no longer fits, or nothing comes of it."""
    job = asked.job_of.get(estimate.pk)
    made = None if job is None or not result.ok[job] else job
    return EffectRow(
        estimate=estimate,
        share=share,
        old_hours=estimate.hours_likely * share,
        new_hours=None if made is None else float(result.hours.likely[made]) * share,
        old_cents=_part(estimate.total_cents, share),
        new_cents=None if made is None else _part(int(result.money.total_cents[made]), share),
        same_prices=made is None or _prices_agree(estimate.inputs["prices"], asked.frozen.prices.of(made)),
    )


def _prices_agree(then: Mapping[str, Any], now: Mapping[str, Any]) -> bool:
    """Of what is priced on both sides: a book with another crew has other roles, which is no change of a price."""
    return all(_price_agrees(then[name], now[name]) for name in then.keys() & now.keys() - {"skill_role"})


def _price_agrees(then: Any, now: Any) -> bool:
    both = isinstance(then, dict) and isinstance(now, dict)
    return all(then[code] == now[code] for code in then.keys() & now.keys()) if both else bool(then == now)


def _part(cents: int, share: float) -> int:
    return to_cents(Fraction(cents, 100) * Fraction(share))


def _sum(name: str, rows: Sequence[EffectRow]) -> EffectSum:
    both = [row for row in rows if row.new_hours is not None]
    return EffectSum(
        name=name,
        rows=len(rows),
        left_out=len(rows) - len(both),
        old_hours=sum(row.old_hours for row in both),
        new_hours=sum(row.new_hours or 0.0 for row in both),
        old_cents=sum(row.old_cents for row in both),
        new_cents=sum(row.new_cents or 0 for row in both),
    )
