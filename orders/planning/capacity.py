"""How full a season is: hours, licensed hours and money of what is chosen, beside what the crews can give."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

import numpy as np
from django.db.models import Q

from estimating.columns import FloatArray
from estimating.spread import HIGH_Z, Range, SeasonFit, season_fit
from orders.crews.models import Crew, CrewMembership, Qualification
from orders.crews.selectors import crew_presence
from orders.estimates.models import Estimate
from orders.planning.models import Season


class Piece(NamedTuple):
    """A piece of work as sums need it: figures of its estimate, how much of it is asked for, 0 to 1, and the key of the
    fund of the season that pays, if one does."""

    method_id: int
    qualification_id: int | None
    hours_likely: float
    own_log_sd: float
    shared_log_sd: float
    total_cents: int
    cost_low_cents: int
    cost_high_cents: int
    paid_person_hours: float
    crew_days: float
    share: float = 1.0
    fund_id: int | None = None


# Of an estimate what a piece is made of, in its order.
PIECE_COLUMNS = ("method_id", "method__qualification_id", *Piece._fields[2:10])
# A piece in sums, `share` applied: what `load_of` reads by number.
METHOD, FUND, LICENSED, HOURS, OWN, SHARED, CENTS, CENTS_OWN, CENTS_SHARED, LIKELY_CENTS, PAID, DAYS = range(12)
NO_FUND = 0


@dataclass(frozen=True)
class Load:
    """What a set of prescriptions asks for. `hours` are field person-hours and `cents` money, each with the error that
    orders of one method share; paid hours hold drive, walk-in, breaks and allowances too."""

    count: int
    hours: SeasonFit
    cents: SeasonFit
    likely_cents: int
    paid_hours: float
    licensed_paid_hours: float
    crew_days: float

    @property
    def dollars(self) -> Range:
        """Money by its range, for people."""
        return Range(
            *(np.asarray(v / 100) for v in (self.cents.low, self.cents.likely, self.cents.high, self.cents.mean))
        )


def pieces_table(pieces: Iterable[Piece]) -> FloatArray:
    """[piece, column]."""
    return np.array([_row(piece) for piece in pieces], dtype=float).reshape(-1, DAYS + 1)


def _row(piece: Piece) -> tuple[float, ...]:
    share = piece.share
    return (
        piece.method_id,
        piece.fund_id or NO_FUND,
        piece.qualification_id is not None,
        piece.hours_likely * share,
        piece.own_log_sd,
        piece.shared_log_sd,
        piece.total_cents * share,
        *money_log_spreads(piece),
        round(piece.total_cents * share),
        piece.paid_person_hours * share,
        piece.crew_days * share,
    )


def load_of(table: FloatArray) -> Load:
    columns = table.T
    group = columns[METHOD].astype(np.int64)
    return Load(
        count=len(table),
        hours=season_fit(columns[HOURS], columns[OWN], columns[SHARED], group),
        cents=season_fit(columns[CENTS], columns[CENTS_OWN], columns[CENTS_SHARED], group),
        likely_cents=round(columns[LIKELY_CENTS].sum()),
        paid_hours=float(columns[PAID].sum()),
        licensed_paid_hours=float((columns[PAID] * columns[LICENSED]).sum()),
        crew_days=float(columns[DAYS].sum()),
    )


def money_log_spreads(made: Estimate | Piece) -> tuple[float, float]:
    """Log spreads of an order's money, its own and the one that orders of its method share. Money has one spread, from
    its own low and high; it is cut in two as its hours' is, which move most of the money."""
    hours_sd = math.hypot(made.own_log_sd, made.shared_log_sd)
    low, high = made.cost_low_cents, made.cost_high_cents
    money_sd = math.log(high / low) / (2 * HIGH_Z) if 0 < low < high else 0.0
    scale = money_sd / hours_sd if hours_sd else 0.0
    return made.own_log_sd * scale, made.shared_log_sd * scale


@dataclass(frozen=True)
class Capacity:
    """What the active crews can give in a season by their days and hours: paid person-hours, and those of crews that
    hold a license."""

    crews: int
    crew_days: int
    paid_hours: float
    licensed_paid_hours: float


def season_capacity(season: Season) -> Capacity:
    """Working days of each active crew x its people x its hours a day; people and licenses as on the first day."""
    crews = list(Crew.objects.filter(is_active=True).order_by("name"))
    people = _people(crews, season.first_day)
    there = crew_presence(crews, season.first_day, season.last_day)
    licensed = _licensed(season.first_day)
    given = [
        (len(there[crew.pk]), len(there[crew.pk]) * len(people[crew.pk]) * float(crew.hours_a_day), people[crew.pk])
        for crew in crews
        if people[crew.pk]
    ]
    return Capacity(
        crews=len(given),
        crew_days=sum(days for days, _, _ in given),
        paid_hours=sum(hours for _, hours, _ in given),
        licensed_paid_hours=sum(hours for _, hours, members in given if members & licensed),
    )


def _people(crews: Iterable[Crew], on: date) -> dict[int, set[int]]:
    """Keys of who is on each crew that day."""
    found: dict[int, set[int]] = {crew.pk: set() for crew in crews}
    members = CrewMembership.objects.filter(
        Q(last_day__isnull=True) | Q(last_day__gte=on), crew__in=found, first_day__lte=on, person__is_active=True
    )
    for crew, person in members.order_by().values_list("crew_id", "person_id"):
        found[crew].add(person)
    return found


def _licensed(on: date) -> set[int]:
    held = Qualification.objects.filter(kind__is_license=True, first_day__lte=on, last_day__gte=on)
    return set(held.order_by().values_list("person_id", flat=True))
