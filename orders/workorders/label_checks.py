"""The label guard's word on orders and on estimates, with earlier work and open orders on the same ground.

It is said early, beside each method's estimate, and again where it counts, at issue under the lock of the write.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from django.db.models import prefetch_related_objects

from estimating.label_guard import check_applications, check_weather
from estimating.label_sums import Ground
from estimating.labels import Application, Finding, GuardPolicy, ProductLabel
from estimating.units import celsius
from orders.estimates.models import Estimate
from orders.planning.models import Prescription, Visit
from orders.planning.selectors import seasons
from orders.supplies.convert import product_labels
from orders.workorders.convert import (
    UseOnGround,
    estimate_uses,
    ground_sets,
    herbicide_codes,
    placed_uses,
    prior_uses,
    proposed_uses,
    visit_uses,
)
from orders.workorders.label_intervals import interval_findings
from orders.workorders.models import WorkOrder

TEMPERATURE = "weather-temperature"  # code of the finding about the air temperature


def guard_policy(today: date) -> GuardPolicy:
    return GuardPolicy(today=today, seasons=tuple(seasons().values_list("first_day", "last_day")))


def label_findings(order: WorkOrder, *, today: date) -> tuple[Finding, ...]:
    """All findings about the order's uses."""
    return _findings_of(proposed_uses(order), order, today)


def label_findings_moved(visit: Visit, day: date) -> tuple[Finding, ...]:
    """What the labels would newly say if a visit were worked on another day, all else staying as it is."""
    on_order = getattr(visit, "order_visit", None)
    order = None if on_order is None else on_order.order
    before, after = (_findings_of(visit_uses(visit, order, on), order, on) for on in (visit.day, day))
    known = {(finding.code, finding.product) for finding in before}
    return tuple(finding for finding in after if (finding.code, finding.product) not in known)


def label_findings_placed(asked: Prescription, share: float, day: date) -> tuple[Finding, ...]:
    """The labels' word on a part of a prescription that would be put on a day."""
    return _findings_of(placed_uses(asked, share, day), None, day)


def _findings_of(uses: list[UseOnGround], order: WorkOrder | None, today: date) -> tuple[Finding, ...]:
    if not uses:
        return ()
    prior = prior_uses(uses, leave_out=order)
    pieces = ground_sets([*uses, *prior])
    plain, earlier = _plain(uses), _plain(prior)
    found = check_applications(plain, earlier, product_labels(), guard_policy(today), pieces)
    return (*found, *interval_findings(plain, earlier, pieces))


def label_findings_for(estimates: Iterable[Estimate], *, on: date) -> dict[int, tuple[Finding, ...]]:
    """The guard's word on each estimate by its key, as if the work were done in one visit on that day.

    Estimates are alternatives: each is judged by itself against what was done before and what is on open orders. One
    without herbicide has nothing to be said of it.
    """
    listed = list(estimates)
    prefetch_related_objects(listed, "method", "survey__components", "survey__patch__site__jurisdiction")
    herbicides = herbicide_codes()
    asked = {estimate.pk: estimate_uses(estimate, herbicides, on=on) for estimate in listed}
    every = [use for uses in asked.values() for use in uses]
    prior = prior_uses(every)
    checker = _Checker(ground_sets([*every, *prior]), _plain(prior), product_labels(), guard_policy(on))
    return {key: checker.findings(uses) for key, uses in asked.items()}


def label_findings_tried(variant: Estimate, *, on: date, air_temperature_f: float | None = None) -> tuple[Finding, ...]:
    """The same for an estimate as it might be, with another mix or amounts and not stored; and what the labels say of
    the air temperature where one is given."""
    found = label_findings_for([variant], on=on)[variant.pk]
    if air_temperature_f is None or not variant.mix_id:
        return found
    labels = product_labels()
    measured = {"temperature_c": round(celsius(air_temperature_f), 1)}
    used = [labels[code] for code in sorted(variant.products_ul) if code in labels]
    row = f"{variant.survey.patch} by {variant.method}"
    return (*found, *(finding for label in used for finding in check_weather(label, row, measured)))


class _Checker:
    """Earlier uses and grounds by row, so that each of many estimates looks at its own ground alone."""

    def __init__(
        self,
        grounds: Sequence[Ground],
        prior: Sequence[Application],
        labels: Mapping[str, ProductLabel],
        policy: GuardPolicy,
    ) -> None:
        self.labels, self.policy, self.prior = labels, policy, prior
        self.grounds: dict[str, list[Ground]] = defaultdict(list)
        for ground in grounds:
            for row in ground:
                self.grounds[row].append(ground)

    def findings(self, uses: Sequence[UseOnGround]) -> tuple[Finding, ...]:
        if not uses:
            return ()
        pieces = list(dict.fromkeys(ground for each in uses for ground in self.grounds[each.use.row]))
        near = {row for ground in pieces for row in ground}
        prior = [use for use in self.prior if use.row in near]
        return check_applications(_plain(uses), prior, self.labels, self.policy, pieces)


def _plain(uses: Iterable[UseOnGround]) -> list[Application]:
    return [each.use for each in uses]
