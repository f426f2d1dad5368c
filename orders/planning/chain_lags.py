"""How long one piece of work waits for another: the rule's days, and what labels ask for between two uses.

A label's own terms are never shortened: where the same product is used again, its days between uses hold from the last
use in the chain, and where its uses of a calendar year are made, the next one waits for the new year.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from orders.estimates.models import Estimate
from orders.planning.chain_ends import End, root_of
from orders.planning.models import Prescription
from orders.planning.windows import Days, SeasonWindows
from orders.sites.models import Survey
from orders.supplies.models import LabelUse, MixPart


@dataclass(frozen=True)
class Lag:
    """Days after the work before, at least and at most, and a day before which a label allows no further use."""

    least_days: int
    most_days: int
    not_before: date | None = None
    told: str = ""

    def earliest(self, end: End) -> date:
        day = end.earliest + timedelta(days=self.least_days)
        return day if self.not_before is None else max(day, self.not_before)

    def latest(self, end: End) -> date:
        return end.latest + timedelta(days=self.most_days)

    def words(self, end: End) -> str:
        since = f"it was done on {end.earliest}" if end.is_real else f"its first possible day, {end.earliest}"
        said = f"Not before {self.earliest(end)}, {self.least_days} days after {since}."
        return f"{said} {self.told}".strip()


def lag_after(first: Prescription, estimate: Estimate, least_days: int, most_days: int, end: End) -> Lag:
    """The lag of a rule after `first`, lengthened where a label of the estimate's mix asks for more."""
    uses = _limited_uses(estimate)
    if not uses:
        return Lag(least_days, most_days)
    label_days, full, waited, in_year = 0, False, 0, dict.fromkeys(uses, 0)
    for step in _back_from(first):
        for product_id in _products(step) & uses.keys():
            use = uses[product_id]
            label_days = max(label_days, (use.least_days_between or 0) - waited)
            in_year[product_id] += step == first or step.last_day.year >= end.latest.year
            full |= use.most_uses_a_year is not None and in_year[product_id] >= use.most_uses_a_year
        waited += step.least_lag_days or 0
    least = max(least_days, label_days)
    told = "The label asks for these days between two uses." if label_days > least_days else ""
    not_before = date(end.latest.year + 1, 1, 1) if full else None
    if full:
        told = f"{told} The label allows no further use in {end.latest.year}.".strip()
    return Lag(least, max(most_days, least), not_before, told)


def _limited_uses(estimate: Estimate) -> dict[int, LabelUse]:
    """By product of the mix: the label's use by this method, where it says how soon or how often."""
    if estimate.mix_id is None:
        return {}
    rows = LabelUse.objects.filter(method=estimate.method.code, product__mix_parts__mix_id=estimate.mix_id)
    limited = rows.filter(least_days_between__gt=0) | rows.filter(most_uses_a_year__isnull=False)
    return {use.product_id: use for use in limited.distinct()}


def _back_from(step: Prescription) -> Iterator[Prescription]:
    """The chain's steps from this one back to its first."""
    following: Prescription | None = step
    while following is not None:
        root = root_of(following)
        yield root
        following = root.follows


def _products(step: Prescription) -> set[int]:
    mix_id = step.estimate.mix_id
    if mix_id is None:
        return set()
    return set(MixPart.objects.filter(mix_id=mix_id).order_by().values_list("product_id", flat=True))


def days_after(lag: Lag, end: End, survey: Survey, method: str, windows: SeasonWindows) -> Days | None:
    """The first open window after the lag, within the season and the greatest lag."""
    season = windows.season
    earliest, latest = max(lag.earliest(end), season.first_day), min(lag.latest(end), season.last_day)
    found = windows.first_from(survey, method, earliest) if earliest <= latest else None
    if found is None:
        return None
    first, last = max(found.first, earliest), min(found.last, latest)
    return Days(first, last, f"{lag.words(end)} {found.because}") if first <= last else None
