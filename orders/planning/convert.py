"""Prescriptions, crews and standing visits as the facts that the planner reads, and their fingerprint."""

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Any

import numpy as np
from django.db.models import Sum

from estimating.columns import Known
from estimating.crewday import productive_hours
from estimating.inputs import CLIMBING, SPRAWLING, CrewDay, PatchFacts
from estimating.plan import CrewSupply, PlanInput, VisitNeed, split_long_visits
from estimating.pricing import blended_rate_e4, to_cents
from estimating.spread import SeasonFit, season_fit
from orders.crews.models import Crew, Person
from orders.crews.selectors import crew_days_off, crew_people, crew_skills, standard_rates
from orders.estimates.convert import rates as rates_of
from orders.estimates.models import RateBook
from orders.planning.models import Prescription, Season, Visit, VisitShare
from orders.planning.selectors import LEAST_SHARE, prescriptions, visits_fixed
from orders.sites.models import Closure, Jurisdiction, Site

# A prescription on an order is asked for too: a part that found no place in the plan is still wanted.
PLANNABLE = ("open", "planned", "ordered")
ON_AN_ORDER = ("ordered", "done", "not_done")


@dataclass(frozen=True)
class Need:
    """A piece of a prescription as the planner's visit of this id; cut, it is at most one crew-day long."""

    visit_id: str
    prescription: Prescription
    share: float
    hours: float


@dataclass(frozen=True)
class Demand:
    """What the planner is given, and how to read its answer."""

    plan_input: PlanInput
    needs: dict[str, Need]
    crews: dict[str, Crew]
    fingerprint: str


def demand(season: Season, book: RateBook) -> Demand:
    """All that is asked for in the season and not on an order yet, against the crews' free days."""
    day = rates_of(book).crew_day(book.standard_crew)
    net_hours = day_net_hours(day)
    asked = list(prescriptions(season).filter(state__in=PLANNABLE))
    fixed = list(visits_fixed(season))
    crews = {str(crew.public_id): crew for crew in Crew.objects.filter(is_active=True).order_by("name")}
    jurisdictions = list(Jurisdiction.objects.order_by("code"))
    whole = {str(row.public_id): need for row in asked if (need := _whole_need(row, net_hours, day.size))}
    supplies = [_crew_supply(crew, season, fixed, jurisdictions, net_hours) for crew in crews.values()]
    plan_input = PlanInput(
        first_day=season.first_day,
        last_day=season.last_day,
        visits=tuple(_visit_need(need) for need in whole.values()),
        crews=tuple(supply for supply in supplies if supply),
        drive_minutes={site.code: 2.0 * site.drive_minutes for site in Site.objects.order_by("code")},
        closed_days={site.code: _closed(site, season) for site in Site.objects.order_by("code")},
        budget_cents=season.budget_cents,
    )
    cut = split_long_visits(plan_input)
    needs = {visit.id: _piece(whole[visit.prescription], visit) for visit in cut.visits}
    return Demand(cut, needs, crews, _fingerprint(plan_input))


def day_net_hours(day: CrewDay) -> float:
    """What a crew's day leaves for drive and work: the shift less briefing, set-up, clean-up, breaks and allowance."""
    nowhere = PatchFacts(ids=("day",), gross_area_m2=np.ones(1), walk_in_minutes=np.zeros(1))
    return float(productive_hours(nowhere, day)[0])


def _whole_need(prescription: Prescription, net_hours: float, size: int) -> Need | None:
    """The part of a prescription that no order serves yet.

    An estimate's crew-days hold the walk-in of its own patch; times what a day leaves after the drive they are the
    person-hours that a day at that site must find.
    """
    left = _share_unordered(prescription)
    drive_hours = 2 * prescription.patch.site.drive_minutes / 60
    a_day = size * max(net_hours - drive_hours, 0.25)
    hours = prescription.estimate.crew_days * prescription.share_left * left * a_day
    wanted = left > LEAST_SHARE and hours > 0
    return Need(str(prescription.public_id), prescription, left, hours) if wanted else None


def _piece(whole: Need, visit: VisitNeed) -> Need:
    return Need(visit.id, whole.prescription, whole.share * visit.hours / whole.hours, visit.hours)


def _share_unordered(prescription: Prescription) -> float:
    served = VisitShare.objects.filter(prescription=prescription, visit__state__in=ON_AN_ORDER)
    return max(0.0, 1.0 - (served.aggregate(total=Sum("share"))["total"] or 0.0))


def _visit_need(need: Need) -> VisitNeed:
    asked = need.prescription
    qualification = asked.method.qualification
    return VisitNeed(
        id=need.visit_id,
        hours=need.hours,
        site=asked.patch.site.code,
        skills=frozenset({skill_at(qualification.code, asked.patch.site)} if qualification else ()),
        first_day=asked.first_day,
        last_day=asked.last_day,
        value_cents=_value_cents(asked, need),
        prescription=str(asked.public_id),
    )


def skill_at(code: str, site: Site) -> str:
    """A license holds in its own jurisdiction, so the planner's skill names both."""
    return f"{code}@{site.jurisdiction.code}"


# Value of work for the order in which it is served, in multiples of its own cost. Tunable, from memory: seed sources
# that would fruit come first, then what was begun, then the rest.
SEED_SOURCE_VALUE = 12
BEGUN_VALUE = 8
OTHER_VALUE = 4


def _value_cents(asked: Prescription, need: Need) -> int:
    components = asked.estimate.inputs["components"]
    seeding = any(_may_fruit(component) for component in components)
    begun = asked.origin != "survey" or asked.patch.control_state == "under_treatment"
    weight = SEED_SOURCE_VALUE if seeding else BEGUN_VALUE if begun else OTHER_VALUE
    return int(asked.estimate.total_cents * asked.share_left * need.share * weight)


def _may_fruit(component: dict[str, Any]) -> bool:
    forms = (CLIMBING, SPRAWLING)
    return component["growth_form"] in forms and component["fertile"] != int(Known.NO)


def _crew_supply(
    crew: Crew, season: Season, fixed: list[Visit], jurisdictions: list[Jurisdiction], net_hours: float
) -> CrewSupply | None:
    """A crew as the planner sees it; days that hold a fixed visit are taken."""
    people = crew_people(crew, season.first_day)
    if not people:
        return None  # a crew without people plans nothing; its page says so
    off = crew_days_off(crew, season.first_day, season.last_day)
    taken = {visit.day for visit in fixed if visit.crew_id == crew.pk}
    skills = {
        f"{code}@{jurisdiction.code}"
        for jurisdiction in jurisdictions
        for code in crew_skills(crew, season.first_day, jurisdiction)
    }
    return CrewSupply(
        id=str(crew.public_id),
        people=len(people),
        hours_a_day=min(float(crew.hours_a_day), net_hours),
        skills=frozenset(skills),
        days_off=frozenset(off | taken),
        cost_cents_per_hour=_cost_cents_per_hour(people, season.first_day),
    )


def _cost_cents_per_hour(people: list[Person], on: date) -> int:
    """The crew's average standard rate; what each person is paid stays with finance."""
    counts: dict[str, int] = {}
    for person in people:
        counts[person.role.code] = counts.get(person.role.code, 0) + 1
    listed = standard_rates(on)
    return to_cents(blended_rate_e4(counts, {role: listed.get(role, 0) for role in counts}) / 10_000)


def _closed(site: Site, season: Season) -> frozenset[date]:
    closures = Closure.objects.filter(site=site, first_day__lte=season.last_day, last_day__gte=season.first_day)
    return frozenset(
        day
        for closure in closures.order_by("first_day")
        for day in _days(max(closure.first_day, season.first_day), min(closure.last_day, season.last_day))
    )


def _days(first: date, last: date) -> list[date]:
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def _fingerprint(plan_input: PlanInput) -> str:
    canonical = json.dumps(asdict(plan_input), sort_keys=True, default=_sorted_text)
    return hashlib.sha256(canonical.encode()).hexdigest()


def _sorted_text(value: Any) -> Any:
    return sorted(str(item) for item in value) if isinstance(value, frozenset) else str(value)


def season_hours(season: Season) -> SeasonFit:
    """Field person-hours of all that is asked for in a season, with the error that orders of one method share."""
    columns = ("estimate__hours_likely", "share_left", "estimate__own_log_sd", "estimate__shared_log_sd", "method_id")
    asked = prescriptions(season).exclude(state="dropped").values_list(*columns)
    likely, share, own, shared, group = np.array(list(asked), dtype=float).reshape(-1, len(columns)).T
    return season_fit(likely * share, own, shared, group.astype(np.int64))
