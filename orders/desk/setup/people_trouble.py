"""What may go wrong with people in the season that is near: told where it can still be mended."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property

from orders.crews.models import Crew, CrewMembership, Qualification, QualificationKind
from orders.crews.selectors import crews_all, qualifications_between, stays
from orders.estimates.selectors import methods
from orders.planning.selectors import seasons
from orders.sites.models import Jurisdiction
from orders.sites.selectors import jurisdictions, sites

WITHOUT_SEASON = 365
Span = tuple[date, date]


@dataclass(frozen=True)
class Near:
    """The season that runs or comes next; without one, the year from today."""

    name: str
    first: date
    last: date

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1


def season_ahead(today: date) -> Near:
    ahead = seasons().filter(last_day__gte=today).order_by("first_day", "id").first()
    if ahead is None:
        return Near("the next twelve months", today, today + timedelta(days=WITHOUT_SEASON - 1))
    return Near(ahead.name, ahead.first_day, ahead.last_day)


@dataclass(frozen=True)
class Skill:
    """Whether somebody on the crew holds a kind in a jurisdiction: today, and on how many days of the season."""

    kind: QualificationKind
    place: Jurisdiction
    today: bool
    days: int
    of_days: int
    last: date | None

    @property
    def state(self) -> str:
        return "good" if self.days == self.of_days else "wait" if self.days else "off"


@dataclass(frozen=True)
class PeopleFacts:
    """All that the pages ask about the season's people: read once, whatever their number."""

    near: Near
    today: date
    crews: Sequence[Crew]
    stays: Sequence[CrewMembership]
    held: Sequence[Qualification]
    needed: Sequence[QualificationKind]
    places: Sequence[Jurisdiction]

    @cached_property
    def _skills(self) -> dict[int, list[Skill]]:
        return {}

    def skills(self, crew: Crew) -> list[Skill]:
        if crew.pk not in self._skills:
            mine = [stay for stay in self.stays if stay.crew_id == crew.pk]
            found = [self._skill(mine, kind, place) for kind in self.needed for place in self.places]
            self._skills[crew.pk] = found
        return self._skills[crew.pk]

    def _skill(self, mine: Iterable[CrewMembership], kind: QualificationKind, place: Jurisdiction) -> Skill:
        spans = [
            (max(stay.first_day, one.first_day), min(stay.last_day or one.last_day, one.last_day))
            for stay in mine
            for one in self.held
            if one.person_id == stay.person_id and one.kind_id == kind.pk and one.jurisdiction_id in (None, place.pk)
        ]
        days = {day for span in spans for day in _days(span, self.near)}
        now = any(first <= self.today <= last for first, last in spans)
        return Skill(kind, place, now, len(days), self.near.days, max(days, default=None))


def people_facts(today: date) -> PeopleFacts:
    near = season_ahead(today)
    first = min(today, near.first)
    return PeopleFacts(
        near=near,
        today=today,
        crews=[crew for crew in crews_all() if crew.is_active],
        stays=list(stays(first, near.last)),
        held=list(qualifications_between(first, near.last)),
        needed=_kinds_needed(),
        places=list(jurisdictions().filter(pk__in=sites().order_by().values("jurisdiction"))),
    )


def _kinds_needed() -> list[QualificationKind]:
    """Kinds that some method asks for."""
    kinds = {method.qualification_id: method.qualification for method in methods() if method.qualification}
    return sorted(kinds.values(), key=lambda kind: kind.name)


def _days(span: Span, near: Near) -> set[date]:
    first, last = max(span[0], near.first), min(span[1], near.last)
    return {first + timedelta(days=number) for number in range((last - first).days + 1)}


def crew_trouble(facts: PeopleFacts, crew: Crew) -> list[str]:
    """What the crew lacks within the season: nobody at all is a fact of its table, a part of the season is trouble."""
    told = [
        f"{skill.kind} in {skill.place}: only to {skill.last:%B} {skill.last.day}, {skill.last.year}; "
        f"{facts.near.name} goes on to {facts.near.last:%B} {facts.near.last.day}, {facts.near.last.year}."
        for skill in facts.skills(crew)
        if skill.last is not None and 0 < skill.days < skill.of_days and skill.last < facts.near.last
    ]
    mine = [stay for stay in facts.stays if stay.crew_id == crew.pk]
    if not mine:
        told.append(f"Nobody is on it in {facts.near.name}: no work can be planned for it.")
    elif not any(stay.is_lead for stay in mine):
        told.append("Nobody leads it: its orders and reminders reach no lead.")
    return told


def program_trouble(facts: PeopleFacts) -> list[str]:
    """Work that no crew may do anywhere it is needed."""
    held = {(skill.kind, skill.place) for crew in facts.crews for skill in facts.skills(crew) if skill.days}
    return [
        f"Nobody on a crew holds {kind} in {place} on any day of {facts.near.name}: methods that need it "
        f"cannot be planned there."
        for kind in facts.needed
        for place in facts.places
        if (kind, place) not in held
    ]


def qualification_trouble(facts: PeopleFacts, row: Qualification) -> list[str]:
    """Of one license: it ends inside the season, or its supervisor cannot be there."""
    told = []
    if facts.near.first <= row.last_day < facts.near.last and not _renewed(facts, row):
        left = (row.last_day - facts.today).days
        when = f"in {left} days" if left >= 0 else f"{-left} days ago"
        told.append(f"{row.kind} ends {when}, inside {facts.near.name}, and no renewal is on record.")
    if row.supervised_by is not None:
        told += _supervisor_trouble(facts, row)
    return told


def _renewed(facts: PeopleFacts, row: Qualification) -> bool:
    return any(
        one.person_id == row.person_id
        and one.kind_id == row.kind_id
        and one.jurisdiction_id == row.jurisdiction_id
        and one.last_day > row.last_day
        for one in facts.held
    )


def _supervisor_trouble(facts: PeopleFacts, row: Qualification) -> list[str]:
    supervisor = row.supervised_by
    if supervisor is None:
        return []
    if not supervisor.is_active:
        return [f"{supervisor}, who supervises, is no longer in use."]
    told = []
    if not any(stay.person_id == supervisor.pk for stay in facts.stays):
        told.append(f"{supervisor}, who supervises, is on no crew on any day of {facts.near.name}.")
    if not any(
        one.person_id == supervisor.pk and one.kind.is_license and one.supervised_by_id is None for one in facts.held
    ):
        told.append(f"{supervisor}, who supervises, holds no license of their own in {facts.near.name}.")
    return told
