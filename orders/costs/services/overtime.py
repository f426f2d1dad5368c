"""The overtime premium: its own source beside straight time, one for each person, workweek and revision.

Straight time posts when an order closes, and the week goes on: so whatever touches a week has it figured anew from all
of its hours, and where something changed the earlier revision's rows are taken back and the new one's posted, in the
same transaction.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any
from uuid import NAMESPACE_URL, UUID, uuid5

from estimating.pay import WeekPay, pay_week, premium_spread
from estimating.pricing import split_cents, to_cents
from orders.common.changes import change_record
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import LedgerEntry, PayPolicy, WorkweekPremium
from orders.costs.overtime_selectors import SOURCE, premium_rows
from orders.costs.pay_selectors import pay_policy
from orders.costs.selectors import fund_suspense, order_funding
from orders.costs.services.charging import entries_post, payers_by_rule, payers_of
from orders.costs.services.entries import Cost, Payer, entries_make, entries_reverse
from orders.costs.services.labor import is_paid, wage_e4
from orders.costs.services.sources import served_by
from orders.costs.workweeks import (
    Piece,
    pieces_worked,
    takes_time_off,
    week_rules,
    week_start,
    worked_of,
)
from orders.crews.models import Person
from orders.workorders.models import CloseOut

E4 = 10_000


@dataclass(frozen=True)
class Figured:
    """A week as pay. `cents` are parallel to the pieces and sum to the premium, payroll taxes on it included."""

    pieces: tuple[Piece, ...]
    cents: tuple[int, ...]
    pay: WeekPay | None
    premium_cents: int
    comp_minutes: int
    lines: list[dict[str, Any]]


def close_out_weeks(close_outs: Iterable[CloseOut]) -> set[tuple[Person, date]]:
    """Whose days these statements tell of."""
    return {
        (entry.person, entry.work_date)
        for close_out in close_outs
        for entry in close_out.time_entries.select_related("person__role")
    }


@writing()
def overtime_refresh(
    *, people_weeks: Iterable[tuple[Person, date]], posted_on: date, stamp: Stamp
) -> list[WorkweekPremium]:
    """Figure the workweeks of these people and days anew; the new revisions, where something changed."""
    weeks = {(week_start(day), person.pk): person for person, day in people_weeks}
    made = [_week_refresh(weeks[key], key[0], posted_on, stamp) for key in sorted(weeks)]
    return [premium for premium in made if premium is not None]


def _week_refresh(person: Person, start: date, posted_on: date, stamp: Stamp) -> WorkweekPremium | None:
    figured = week_figured(person, start)
    known = WorkweekPremium.objects.filter(person=person, week_start=start).order_by("-revision").first()
    if figured.lines == (known.lines if known else []):
        return None
    if known is not None:
        standing = premium_rows(known).filter(reversed_by__isnull=True)
        entries_reverse(standing, posted_on=posted_on, stamp=stamp)
    premium = _premium_add(person, start, known.revision + 1 if known else 1, figured, stamp)
    entries_post(_rows(premium, figured, posted_on, stamp), stamp=stamp)
    after = {"week_start": start.isoformat(), "revision": premium.revision}
    change_record(stamp=stamp, verb="workweek_figure", entity=premium, after=after)
    return premium


def _premium_add(person: Person, start: date, revision: int, figured: Figured, stamp: Stamp) -> WorkweekPremium:
    pay = figured.pay
    return WorkweekPremium.objects.create(
        person=person,
        week_start=start,
        revision=revision,
        worked_minutes=pay.worked_minutes if pay else 0,
        overtime_minutes=pay.overtime_minutes if pay else 0,
        double_minutes=pay.double_minutes if pay else 0,
        regular_rate_e4=round(pay.regular_rate * E4) if pay else 0,
        premium_cents=figured.premium_cents,
        comp_minutes=figured.comp_minutes,
        lines=figured.lines,
        posted_at=stamp.at,
        posted_by=stamp.by,
    )


def week_figured(person: Person, start: date) -> Figured:
    """What a person's workweek comes to by all that is known of it now; no lines where nothing of it is overtime."""
    policy = pay_policy(start)
    pieces = pieces_worked(person, start) if is_paid(person) else []
    rates = {piece.day: wage_e4(person, piece.day) for piece in pieces}
    worked = worked_of(pieces, start, rates)
    pay = pay_week(worked, week_rules(pieces, policy)) if pieces else None
    if pay is None or not pay.overtime_minutes + pay.double_minutes:
        return Figured((), (), pay, 0, 0, [])
    comp = comp_minutes(pay) if takes_time_off(person, start, policy) else 0
    premium, more = (0, _time_off(comp)) if comp else _premium_cost(pay, policy)
    parts = premium_spread(pay, worked, policy.spread)
    cents = split_cents(premium, parts) if premium else [0] * len(parts)
    spread = [
        _part(person, start, piece, one.rate_e4, beyond, amount)
        for piece, one, beyond, amount in zip(pieces, worked, pay.overtime_by_piece, cents, strict=True)
    ]
    return Figured(tuple(pieces), tuple(cents), pay, premium, comp, [*_figures(pay), *more, *spread])


def _time_off(minutes: int) -> list[dict[str, Any]]:
    return [_figure("Time off given instead of the premium", minutes)]


def comp_minutes(pay: WeekPay) -> int:
    """An hour and a half off for an hour of overtime (29 USC 207(o), from memory), two for one at double time; half
    a minute counts as one."""
    return (3 * pay.overtime_minutes + 1) // 2 + 2 * pay.double_minutes


def _premium_cost(pay: WeekPay, policy: PayPolicy) -> tuple[int, list[dict[str, Any]]]:
    """The premium with what payroll taxes add to it by the policy, and the line that says so."""
    share = Fraction(policy.premium_fringe_e4, E4)
    taxes = to_cents(Fraction(pay.premium_cents, 100) * share)
    words = f"Payroll taxes on the premium, {float(share * 100):.2f}%"
    return pay.premium_cents + taxes, [_figure(words, 0, cents=taxes)] if taxes else []


def _figures(pay: WeekPay) -> list[dict[str, Any]]:
    return [_figure(line.words, line.minutes, rate=line.rate, cents=line.cents) for line in pay.lines]


def _figure(words: str, minutes: int, *, rate: Fraction | None = None, cents: int | None = None) -> dict[str, Any]:
    shown = None if rate is None else round(rate * E4)
    return {"kind": "figure", "words": words, "minutes": minutes, "rate_e4": shown, "cents": cents}


def _part(person: Person, start: date, piece: Piece, rate_e4: int, beyond: int, cents: int) -> dict[str, Any]:
    return {
        "kind": "part",
        "day": piece.day.isoformat(),
        "code": piece.code,
        "order": piece.order.number if piece.order else None,
        "prescription": str(piece.prescription.public_id) if piece.prescription else None,
        "minutes": piece.minutes,
        "rate_e4": rate_e4,
        "overtime_minutes": beyond,
        "cents": cents,
        "source_id": str(_source_id(person, start, piece)),
    }


def _source_id(person: Person, start: date, piece: Piece) -> UUID:
    """Of the part of a week's premium that one piece bears; its revision is the week's."""
    return uuid5(NAMESPACE_URL, f"{SOURCE}/{person.public_id}/{start}/{piece.key}")


def _rows(premium: WorkweekPremium, figured: Figured, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """Each part on its own day: the one on which it was worked. With the spread over overtime alone, only days on which
    a threshold was passed bear any."""
    rows: list[LedgerEntry] = []
    for piece, cents in zip(figured.pieces, figured.cents, strict=True):
        if cents:
            cost = _cost(premium, piece, cents)
            payers = _payers(cost, piece)
            revision, why = premium.revision, stamp.reason
            rows += entries_make(cost, payers, revision=revision, posted_on=posted_on, reason=why, stamp=stamp)
    return rows


def _cost(premium: WorkweekPremium, piece: Piece, cents: int) -> Cost:
    """Minutes stay with straight time, so that no hour counts twice."""
    return Cost(
        category="premium",
        amount_cents=cents,
        quantity=0,
        unit="min",
        rate_e4=0,
        rate_origin="amount",
        source_kind=SOURCE,
        source_id=_source_id(premium.person, premium.week_start, piece),
        work_date=piece.day,
        order=piece.order,
        visit=piece.visit,
        served=served_by(piece.visit, piece.prescription) if piece.visit else [],
        person=premium.person,
        work_code="" if piece.order else piece.code,
        crew_name=piece.crew_name,
    )


def _payers(cost: Cost, piece: Piece) -> list[Payer]:
    """As of the straight time beside it."""
    if piece.order is None:
        return payers_by_rule(on=piece.day, work_code=piece.code, site=None, method_code="")
    return payers_of(cost, order_funding(piece.order), fund_suspense())
