"""Prescriptions, crews and standing visits as the facts that the planner reads, and their fingerprint."""

import hashlib
import json
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np

from estimating.crewday import productive_hours
from estimating.inputs import CrewDay, PatchFacts
from estimating.plan import Assignment, Chain, CrewSupply, PlanInput, VisitNeed, split_long_visits
from estimating.pricing import to_cents
from estimating.spread import SeasonFit, season_fit
from orders.crews.models import Crew, QualificationKind
from orders.estimates.convert import rates as rates_of
from orders.estimates.models import RateBook
from orders.estimates.selectors import equipment_needed, rate_book_in_force
from orders.planning.beside import places_beside
from orders.planning.capacity import money_log_spreads
from orders.planning.chain_links import chain_links
from orders.planning.closed import SeasonClosures
from orders.planning.models import PlanRun, Prescription, Season, Visit
from orders.planning.selectors import LEAST_SHARE, prescriptions, prescriptions_asked
from orders.planning.standing import FIXED, PREVIOUS, Standing, standing_parts
from orders.planning.supply import PaidDay, crew_supplies, crews_asked, extra_crews, skill_at
from orders.planning.ways import NoWay, Way, usual_way, ways_without_herbicide
from orders.planning.what_if import WhatIf
from orders.planning.worth import is_owed, worth_cents, worth_facts
from orders.sites.models import Jurisdiction, Site
from orders.supplies.selectors import equipment_counts

LEAST_HOURS = 0.01  # a part of a visit takes some time
PIECE = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}(?:@[0-9a-f-]{36})?(?:/\d+)?")


@dataclass(frozen=True, kw_only=True)
class Need:
    """A piece of a prescription as the planner's visit of this id; cut, it is at most one crew-day long.

    `visit`: the standing visit that it is a part of.
    """

    visit_id: str
    prescription: Prescription
    way: Way
    share: float
    hours: float
    visit: Visit | None = None


@dataclass(frozen=True)
class Demand:
    """What the planner is given, and how to read its answer.

    `previous` and `fixed`: the parts of standing visits by id, those that may move and those that may not. `no_way`:
    what cannot be done as a what-if asks. Nothing new is put on a day before `from_day`.
    """

    plan_input: PlanInput
    needs: dict[str, Need]
    crews: dict[str, Crew]
    fingerprint: str
    fixed: frozenset[str] = frozenset()
    previous: frozenset[str] = frozenset()
    no_way: tuple[NoWay, ...] = ()
    from_day: date = date.min

    @cached_property
    def _skill_names(self) -> dict[str, str]:
        kinds = dict(QualificationKind.objects.order_by("code").values_list("code", "name"))
        places = Jurisdiction.objects.order_by("code").values_list("code", flat=True)
        return {f"{code}@{place}": f"{name} in {place}" for place in places for code, name in kinds.items()}

    @cached_property
    def _fund_names(self) -> dict[str, str]:
        funds = (need.prescription.fund for need in self.needs.values())
        return {fund.code: fund.name for fund in funds if fund is not None}

    def words(self, text: str) -> str:
        """The planner's sentence with its ids as people name them."""

        def named(found: re.Match[str]) -> str:
            need = self.needs.get(found[0])
            return found[0] if need is None else f"{need.prescription.patch} ({need.way.method.name})"

        said = PIECE.sub(named, text)
        for crew in self.crews:
            said = said.replace(f"Crew {crew}", crew).replace(f"crew {crew}", crew)
        for skill, name in self._skill_names.items():
            said = said.replace(skill, name)
        return re.sub(r"\bfund ([\w-]+)", lambda found: self._fund_names.get(found[1], found[0]), said)


def demand(
    season: Season,
    book: RateBook,
    *,
    what: WhatIf | None = None,
    again: bool = False,
    from_day: date | None = None,
) -> Demand:
    """All that is asked for in the season, beside the visits that stand.

    A plan leaves all visits on orders where they are; `again`, those that were not started may move, which costs; a
    what-if is free to, and starts from where they are if it takes nothing away. Nothing new is put on a day before
    `from_day`.
    """
    mode = "what_if" if what else "again" if again else "plan"
    stand = standing_parts(season, mode=mode, from_day=from_day)
    return _Reader(season, book, what or WhatIf(), from_day).demand(stand.parts, stand.served)


def demand_of(run: PlanRun) -> Demand:
    """What the run plans, as things stand now. Nothing is planned for days before it was asked for."""
    return demand(
        run.season,
        rate_book_in_force(),
        what=WhatIf.of_json(run.changes) if run.purpose == "what_if" else None,
        again=run.purpose == "replan",
        from_day=first_day_of(run),
    )


def first_day_of(run: PlanRun) -> date:
    """The day on which it was asked for, by UTC: where the sites are, it may be still the evening before."""
    return run.asked_at.date()


class _Reader:
    """One reading of a season; what all needs share is read once."""

    def __init__(self, season: Season, book: RateBook, what: WhatIf, from_day: date | None) -> None:
        self.season, self.what, self.from_day = season, what, from_day
        day = rates_of(book).crew_day(book.standard_crew)
        self.net_hours, self.size = day_net_hours(day), day.size
        self.standard = PaidDay(day.shift_hours, self.net_hours)
        self.asked = list(prescriptions_asked(season))
        self.closed = SeasonClosures(season)
        self.equipment, self.counts = equipment_needed(), equipment_counts()
        self.facts = worth_facts(season)

    def demand(self, parts: Sequence[Standing], served: Mapping[int, float]) -> Demand:
        ways, no_way = self._ways()
        stands = {part.id: self._standing_need(part) for part in parts}
        whole = {
            str(row.public_id): need
            for row in self.asked
            if row.pk in ways and (need := self._whole_need(row, ways[row.pk], served.get(row.pk, 0.0)))
        }
        whole |= stands
        no_way += tuple(self._shut(whole, {part.id for part in parts if part.how == FIXED}))
        crews = crews_asked(self.what)
        supplies = crew_supplies(self.season, crews, self.standard, {part.visit.crew_id for part in parts})
        placed = {how: _assignments(parts, how) for how in (FIXED, PREVIOUS)}
        uncut = self._plan_input(whole, supplies, crews, (*placed[FIXED], *placed[PREVIOUS]))
        cut = split_long_visits(uncut)
        beside = places_beside(self.season, cut.visits, parts) if self.what.only_adds else ()
        given = replace(cut, fixed=placed[FIXED], previous=placed[PREVIOUS] or beside)
        return Demand(
            plan_input=given,
            needs={visit.id: _piece(whole, visit) for visit in given.visits},
            crews={crew.name: crew for crew in crews},
            fingerprint=_fingerprint(replace(uncut, fixed=placed[FIXED], previous=placed[PREVIOUS])),
            fixed=frozenset(entry.visit for entry in placed[FIXED]),
            previous=frozenset(entry.visit for entry in placed[PREVIOUS]),
            no_way=no_way,
            from_day=self.from_day or date.min,
        )

    def _ways(self) -> tuple[dict[int, Way], tuple[NoWay, ...]]:
        if self.what.no_herbicide:
            return ways_without_herbicide(self.season, self.asked)
        return {row.pk: usual_way(row) for row in self.asked}, ()

    def _whole_need(self, asked: Prescription, way: Way, served: float) -> Need | None:
        """The part of a prescription that no visit serves yet.

        An estimate's crew-days hold the walk-in of its own patch; times what a day leaves after the drive they are the
        person-hours that a day at that site must find.
        """
        left = max(0.0, 1.0 - served)
        drive_hours = 2 * asked.patch.site.drive_minutes / 60
        a_day = self.size * max(self.net_hours - drive_hours, 0.25)
        hours = way.estimate.crew_days * asked.share_left * left * a_day
        if left <= LEAST_SHARE or hours <= 0:
            return None
        return Need(visit_id=str(asked.public_id), prescription=asked, way=way, share=left, hours=hours)

    def _standing_need(self, part: Standing) -> Need:
        return Need(
            visit_id=part.id,
            prescription=part.prescription,
            way=usual_way(part.prescription),
            share=part.share.share,
            hours=max(part.share.planned_hours, LEAST_HOURS),
            visit=part.visit,
        )

    def _shut(self, whole: dict[str, Need], fixed: set[str]) -> Iterable[NoWay]:
        """Takes out what closures of its own method keep out on every day of its window, and says so; where they leave
        some days, the longest run of them is the window."""
        for key, need in list(whole.items()):
            site_id, code = need.prescription.patch.site_id, need.way.method.code
            if key in fixed or not self.closed.has_own(site_id, code):
                continue
            days = self.closed.longest_open(need.prescription, need.way)
            if days is None:
                del whole[key]
                because = "Closures keep this method out of the site on every day of its window."
                yield NoWay(need.prescription, need.way, need.hours, "closed", because)
            else:
                whole[key] = replace(need, way=replace(need.way, first_day=days[0], last_day=days[1]))

    def _plan_input(
        self, whole: Mapping[str, Need], supplies: list[CrewSupply], crews: list[Crew], stand: tuple[Assignment, ...]
    ) -> PlanInput:
        sites = {site.code: site for site in Site.objects.order_by("code").defer("boundary")}
        budget = self.season.budget_cents
        kinds = {kind for need in whole.values() for kind in self.equipment.get(need.way.method.pk, {})}
        past = (self.season.first_day, self.from_day - timedelta(days=1)) if self.from_day else None
        return PlanInput(
            first_day=self.season.first_day,
            last_day=self.season.last_day,
            visits=tuple(self._visit_need(need) for need in whole.values()),
            crews=(*supplies, *extra_crews(supplies, self.what, crews)),
            drive_minutes={code: 2.0 * site.drive_minutes for code, site in sites.items()},
            days_off=frozenset(self.closed.within(*past)) if past else frozenset(),
            closed_days={code: self.closed.of_site(site) for code, site in sites.items()},
            budget_cents=None if budget is None else self._money(budget),
            chains=tuple(self._chains(whole)),
            equipment={kind: self.counts.get(kind, 0) for kind in sorted(kinds)},
            fund_budgets_cents={
                fund.code: self._money(fund.budget_cents) for fund in self.season.funds.order_by("code")
            },
            budget_level=self.season.budget_level,
            fixed=stand,
            move_penalty_cents=0 if self.what != WhatIf() else None,
        )

    def _money(self, budget_cents: int) -> int:
        return to_cents(Fraction(budget_cents, 100) * Fraction(self.what.budget_percent) / 100)

    def _visit_need(self, need: Need) -> VisitNeed:
        asked, way = need.prescription, need.way
        qualification = way.method.qualification
        own, shared = money_log_spreads(way.estimate)
        return VisitNeed(
            id=need.visit_id,
            hours=need.hours,
            site=asked.patch.site.code,
            skills=frozenset({skill_at(qualification.code, asked.patch.site)} if qualification else ()),
            equipment=self.equipment.get(way.method.pk, {}),
            first_day=way.first_day,
            last_day=way.last_day,
            value_cents=worth_cents(asked, need.share, self.facts),
            other_cents=_other_cents(need),
            prescription=str(asked.public_id),
            fund=asked.fund.code if asked.fund else "",
            owed=is_owed(asked),
            own_log_sd=own,
            shared_log_sd=shared,
            shares_error_with=way.method.code,
        )

    def _chains(self, whole: Mapping[str, Need]) -> list[Chain]:
        """Every piece of the second comes after every piece of the first, also after those that are done."""
        pieces: dict[int, list[str]] = defaultdict(list)
        for key, need in whole.items():
            pieces[need.prescription.pk].append(key)
        return [
            Chain(first=first, second=second, least_days=least, most_days=most)
            for before, after, least, most in chain_links(self.asked, (need.prescription for need in whole.values()))
            for first in pieces[before.pk]
            for second in pieces[after.pk]
        ]


def _other_cents(need: Need) -> int:
    """What the estimate holds beside labor: material, equipment and mileage. The planner reckons labor and drive."""
    made = need.way.estimate
    other = made.material_cents + made.equipment_cents + made.mileage_cents
    return round(other * need.prescription.share_left * need.share)


def _assignments(parts: Iterable[Standing], how: str) -> tuple[Assignment, ...]:
    return tuple(Assignment(part.id, part.visit.crew.name, part.visit.day) for part in parts if part.how == how)


def day_net_hours(day: CrewDay) -> float:
    """What a crew's day leaves for drive and work: the shift less briefing, set-up, clean-up, breaks and allowance."""
    nowhere = PatchFacts(ids=("day",), gross_area_m2=np.ones(1), walk_in_minutes=np.zeros(1))
    return float(productive_hours(nowhere, day)[0])


def _piece(whole: Mapping[str, Need], visit: VisitNeed) -> Need:
    need = whole[visit.id] if visit.id in whole else whole[visit.id.rpartition("/")[0]]
    return replace(need, visit_id=visit.id, share=need.share * visit.hours / need.hours, hours=visit.hours)


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
