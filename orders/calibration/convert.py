"""Evidence as the facts that estimating reads, its answer to and from plain values, and the rates that would move."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from estimating.calibrate import Calibration, ClosedOrder, Part, Ratio, Spreads, Weighed
from estimating.recalibrate import RateChange, rates_calibrated
from orders.calibration.models import CalibrationRun
from orders.calibration.selectors import ClosedWork, Evidence, LeftOut
from orders.estimates.convert import rate_rows
from orders.estimates.models import RateBook
from orders.estimates.selectors import rate_book_in_force

# What makes a rate the same in two editions of a book.
SAME_RATE = ("kind", "method", "step", "growth_form", "driver", "unit")


@dataclass(frozen=True)
class Usable:
    """The evidence of one kind of crew by one rate book; the rest is left out."""

    rate_book: RateBook | None
    evidence: tuple[Evidence, ...]
    left_out: tuple[LeftOut, ...]


def usable(work: ClosedWork, crew_kind: str) -> Usable:
    """Ratios are against the rates of one book, so the orders of the book that most of them used are taken."""
    of_kind = [row for row in work.evidence if row.crew_kinds == [crew_kind]]
    counted = Counter(row.rate_books[0] for row in of_kind if len(row.rate_books) == 1)
    books = {str(book): book for book in RateBook.objects.filter(crew_kind=crew_kind).order_by("edition")}
    if not counted:
        left = [_left_out(row, "It was estimated with more than one rate book.") for row in of_kind]
        return Usable(None, (), (*work.left_out, *left))
    name = max(counted, key=lambda found: (counted[found], books[found].edition))
    taken = tuple(row for row in of_kind if row.rate_books == [name])
    because = "It was estimated with {}, and this calibration is of " + name + "."
    others = [_left_out(row, because.format(" and ".join(row.rate_books))) for row in of_kind if row not in taken]
    return Usable(books[name], taken, (*work.left_out, *others))


def _left_out(row: Evidence, because: str) -> LeftOut:
    return LeftOut(row.order, row.order_id, because)


def closed_orders(evidence: Iterable[Evidence]) -> list[ClosedOrder]:
    return [
        ClosedOrder(
            order=row.order,
            crew=row.crew,
            estimated_hours=row.estimated_hours,
            actual_hours=row.actual_hours,
            parts=tuple(Part(**part) for part in row.parts),
            own_log_sd=row.own_log_sd,
            survey_log_sd=row.survey_log_sd,
        )
        for row in evidence
    ]


def calibration_plain(found: Calibration) -> dict[str, Any]:
    """As JSON keeps it."""
    return {"version": 1, **asdict(found)}


def calibration_read(kept: Mapping[str, Any]) -> Calibration:
    """What `calibration_plain` wrote."""
    return Calibration(
        level=kept["level"],
        enough=kept["enough"],
        because=kept["because"],
        overall=_ratio(kept["overall"]) if kept["overall"] else None,
        methods=tuple(_ratio(row) for row in kept["methods"]),
        forms=tuple(_ratio(row) for row in kept["forms"]),
        crews=tuple(_ratio(row) for row in kept["crews"]),
        weights=tuple(Weighed(**row) for row in kept["weights"]),
        spreads=Spreads(**kept["spreads"]) if kept["spreads"] else None,
        own_spread_factor=kept["own_spread_factor"],
    )


def _ratio(kept: Mapping[str, Any]) -> Ratio:
    return Ratio(**{**kept, "orders": tuple(kept["orders"])})


def evidence_read(run: CalibrationRun) -> tuple[Evidence, ...]:
    return tuple(Evidence(**row) for row in run.evidence)


@dataclass(frozen=True)
class Proposed:
    """The rows of the draft that a run would make, and those that move."""

    base: RateBook
    rows: list[dict[str, str]]
    changes: tuple[RateChange, ...]


def proposed(run: CalibrationRun) -> Proposed:
    """The rates that the orders were estimated with, moved by their ratios, set into the book that is in force now.

    Where the book has changed since, a rate that moves is still old rate x ratio, and all others are as they are now.
    """
    assert run.rate_book is not None  # a run that is done and has enough evidence has its book and its result
    assert run.result is not None
    label = run.season.name
    estimated_with = rate_rows(run.rate_book)
    made, changes = rates_calibrated(estimated_with, calibration_read(run.result), label)
    base = rate_book_in_force(run.crew_kind)
    if base == run.rate_book:
        return Proposed(base, made, changes)
    moved = {_key(made[change.line - 1]): (made[change.line - 1], change) for change in changes}
    rows = rate_rows(base)
    held: list[RateChange] = []
    for line, row in enumerate(rows, start=1):
        if _key(row) in moved:
            new, change = moved[_key(row)]
            rows[line - 1] = {**row, **{name: new[name] for name in ("value", "shared_spread", "own_spread", "source")}}
            held.append(replace(change, line=line, old=row["value"]))
    return Proposed(base, rows, tuple(held))


def _key(row: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(row[name] for name in SAME_RATE)
