"""The board: crews by days, with the cards of their visits, loads, days off and closed sites."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, overload

from django import forms
from django.db.models import Prefetch

from orders.crews.models import Crew
from orders.desk.field_forms import PlacedForm
from orders.desk.forms import asked
from orders.planning.closed import SeasonClosures
from orders.planning.crew_days import CrewDay, crew_days
from orders.planning.models import Season, Visit, VisitShare
from orders.planning.season_course import SeasonRow, season_asked, season_rows_of, season_unserved
from orders.planning.selectors import visits
from orders.sites.models import Site

ON_THE_BOARD = ("planned", "ordered", "done", "not_done")
MOVABLE_ORDERS = ("draft", "issued")
NEAR_DAYS = 21  # a seed deadline this close to the visit is told on its card
SPANS = {"week": 7, "two": 14, "month": 28}
MOST_NAMED = 2  # closed sites that a day's heading names


# What a card tells; a month of them is hundreds.
OF_CARD = (
    *("public_id", "day", "state", "is_kept", "site__code", "site__name", "site__drive_minutes"),
    *("crew__public_id", "crew__name", "crew__hours_a_day", "crew__works_weekdays", "crew__is_active"),
    *("order_visit__order__number", "order_visit__order__state"),
)
WITH_CARD = ("crew", "site", "order_visit__order")
OF_PART = (
    *("visit", "planned_hours", "prescription__seed_due_on", "prescription__patch__code"),
    "prescription__method__qualification",
)


class BoardForm(PlacedForm):
    """Which days, and whose or where; all of it stands in the address."""

    field_order = ("week", "span", "crew", "site")
    week = forms.DateField(
        required=False, label="Week of", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    span = forms.ChoiceField(
        choices=[("", "A week"), ("two", "Two weeks"), ("month", "Four weeks")], required=False, label="Show"
    )

    @property
    def is_narrowed(self) -> bool:
        return any(self.cleaned_data.get(name) for name in ("crew", "site", "span"))


@dataclass(frozen=True)
class Card:
    """A visit as it lies on the board."""

    visit: Visit
    hours: float
    seed_due_on: date | None
    is_licensed: bool

    @property
    def what(self) -> str:
        """What a card is told apart by: the place and the day."""
        return f"{self.visit.site.name}, {self.visit.day:%b} {self.visit.day.day}"

    @property
    def patches(self) -> Sequence[str]:
        return [share.prescription.patch.code for share in self.visit.shares.all()]

    @property
    def order(self) -> Any:
        return self.visit.order_visit.order if hasattr(self.visit, "order_visit") else None

    @property
    def is_movable(self) -> bool:
        standing = self.visit.state in {"planned", "ordered"}
        return standing and (self.order is None or self.order.state in MOVABLE_ORDERS)

    @property
    def is_late(self) -> bool:
        return self.seed_due_on is not None and self.visit.day > self.seed_due_on

    @property
    def is_near(self) -> bool:
        due = self.seed_due_on
        return due is not None and due - self.visit.day <= timedelta(days=NEAR_DAYS)


@dataclass(frozen=True)
class Cell:
    day: date
    load: CrewDay
    cards: Sequence[Card]


@dataclass(frozen=True)
class BoardRow:
    crew: Crew
    cells: Sequence[Cell]

    @property
    def hours(self) -> float:
        return sum(cell.load.hours for cell in self.cells)

    @property
    def capacity_hours(self) -> float:
        return sum(cell.load.capacity_hours for cell in self.cells)

    @property
    def is_over(self) -> bool:
        return self.hours > self.capacity_hours + 0.05


@dataclass(frozen=True)
class BoardDay:
    """A column; `closed` are the sites that are closed to all work."""

    day: date
    is_outside: bool
    closed: Sequence[Site]

    @property
    def codes(self) -> str:
        return " ".join(site.code for site in self.closed)

    @property
    def named(self) -> Sequence[Site]:
        return self.closed if len(self.closed) <= MOST_NAMED else ()


@dataclass(frozen=True)
class Unplanned:
    """What a prescription still asks for, with the share and the hours that no visit serves."""

    row: SeasonRow

    @property
    def share(self) -> float:
        return 1.0 - self.row.share_served

    @property
    def hours(self) -> float:
        asked_for = self.row.prescription
        return asked_for.estimate.hours_likely * asked_for.share_left * self.share


class UnplannedRows(Sequence[Unplanned]):
    """Whoever shows a part of them reads that part; `site` is a code, empty for all."""

    def __init__(self, season: Season, site: str) -> None:
        self.season = season
        rows = season_unserved(season)
        rows = rows.filter(patch__site__code=site) if site else rows
        named = rows.values_list("last_day", "patch__site__code", "patch__code", "first_day", "pk")
        self.keys = [key for *_, key in sorted(named, key=lambda row: (row[0], f"{row[1]} {row[2]}", *row[1:]))]

    def __len__(self) -> int:
        return len(self.keys)

    @overload
    def __getitem__(self, which: int) -> Unplanned: ...
    @overload
    def __getitem__(self, which: slice) -> list[Unplanned]: ...
    def __getitem__(self, which: int | slice) -> Unplanned | list[Unplanned]:
        return self._read(self.keys[which]) if isinstance(which, slice) else self._read([self.keys[which]])[0]

    def _read(self, keys: list[int]) -> list[Unplanned]:
        asked = season_asked(self.season).filter(pk__in=keys)
        found = {row.prescription.pk: row for row in season_rows_of(self.season, asked)}
        return [Unplanned(found[key]) for key in keys if key in found]


class Board:
    """Some weeks of a season, read at once."""

    def __init__(self, season: Season, form: BoardForm, today: date) -> None:
        told = asked(form)
        self.season, self.form = season, form
        self.span = told["span"] or "week"
        self.crew, self.site = told["crew"], told["site"]
        monday = _monday(told["week"] or today, season)
        self.dates = [monday + timedelta(days=number) for number in range(SPANS[self.span])]
        self.earlier = monday - timedelta(weeks=1) if monday > season.first_day else None
        self.later = monday + timedelta(weeks=1) if self.dates[-1] < season.last_day else None
        self.days = self._days()
        self.rows = self._rows()

    @property
    def is_wide(self) -> bool:
        return self.span != "week"

    def _days(self) -> list[BoardDay]:
        closed = SeasonClosures(self.season).sites
        sites = Site.objects.filter(pk__in=closed).order_by("name").defer("boundary")
        listed = [site for site in sites if self.site in {"", site.code}]
        first, last = self.season.first_day, self.season.last_day
        return [
            BoardDay(day, not first <= day <= last, [site for site in listed if day in closed[site.pk]])
            for day in self.dates
        ]

    def _rows(self) -> list[BoardRow]:
        """Active crews and whoever else has a visit, by name."""
        found = visits(self.season).filter(day__range=(self.dates[0], self.dates[-1]), state__in=ON_THE_BOARD)
        parts = VisitShare.objects.select_related("prescription__patch", "prescription__method").only(*OF_PART)
        found = found.prefetch_related(None).prefetch_related(Prefetch("shares", parts.order_by("id")))
        listed = list(found.select_related(None).select_related(*WITH_CARD).only(*OF_CARD))
        crews = {crew.pk: crew for crew in [*Crew.objects.filter(is_active=True), *(one.crew for one in listed)]}
        chosen = [crew for crew in crews.values() if self.crew in {"", str(crew.public_id)}]
        loads = crew_days(chosen, listed, self.dates[0], self.dates[-1])
        cards = _cards(visit for visit in listed if self.site in {"", visit.site.code})
        return [
            BoardRow(crew, [self._cell(crew, day, loads, cards) for day in self.dates])
            for crew in sorted(chosen, key=lambda crew: crew.name)
        ]

    def _cell(
        self,
        crew: Crew,
        day: date,
        loads: Mapping[tuple[int, date], CrewDay],
        cards: Mapping[tuple[int, date], list[Card]],
    ) -> Cell:
        return Cell(day, loads.get((crew.pk, day), CrewDay(0, 0.0, 0.0)), cards.get((crew.pk, day), []))

    def unplanned(self) -> "UnplannedRows":
        """What is not done and not wholly served, the nearest end of its window first."""
        return UnplannedRows(self.season, self.site)


def _monday(day: date, season: Season) -> date:
    """Of the week that holds the day, or of the season's first or last week where it lies outside."""
    held = min(max(day, season.first_day), season.last_day)
    return held - timedelta(days=held.weekday())


def _cards(found: Iterable[Visit]) -> Mapping[tuple[int, date], list[Card]]:
    cards: dict[tuple[int, date], list[Card]] = defaultdict(list)
    for visit in found:
        cards[visit.crew_id, visit.day].append(_card(visit))
    return cards


def _card(visit: Visit) -> Card:
    parts = list(visit.shares.all())
    due = [part.prescription.seed_due_on for part in parts if part.prescription.seed_due_on]
    return Card(
        visit,
        sum(part.planned_hours for part in parts),
        min(due, default=None),
        any(part.prescription.method.qualification_id for part in parts),
    )
