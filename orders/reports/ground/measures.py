"""By what a map may be colored. Each measure puts every patch into one class; classes have words and a look.

A look is the number of a style: 1 to 6 from little to much (or six kinds), 0 for "has none", 7 for all other kinds.
"""

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from orders.reminders.models import LATE, MET, MISSED
from orders.reports.ground.limits import MOST_CLASSES, round_limits
from orders.reports.ground.rows import GroundRow
from orders.sites.models import CONTROL_STATES
from orders.workorders.models import WorkOrder

NONE, OTHER = 0, 7
LOOKS = {1: (6,), 2: (2, 5), 3: (1, 3, 6), 4: (1, 3, 4, 6), 5: (1, 2, 4, 5, 6), 6: (1, 2, 3, 4, 5, 6)}


@dataclass(frozen=True)
class GroundClass:
    """`key` names it in an address."""

    key: str
    words: str
    look: int


@dataclass(frozen=True)
class Sorted:
    """The classes in the order of the legend, the class of each row by its place there, and each row's figure: a
    number that is sorted by (None: it has none) and its words."""

    classes: tuple[GroundClass, ...]
    of_row: Sequence[int]
    values: Sequence[float | None]
    told: Sequence[str]


@dataclass(frozen=True)
class Around:
    """What measures need beside the rows."""

    on: date
    method_names: Mapping[str, str]
    recommended: Mapping[int, str]


@dataclass(frozen=True)
class Measure:
    """`says` is what the figure is, in a sentence, with its source."""

    code: str
    words: str
    says: str
    sort: Callable[[Sequence[GroundRow], Around], Sorted]


def _percent(share: float) -> str:
    return f"{100 * share:.0f}%"


def _hours(value: float) -> str:
    return f"{value:,.1f}".removesuffix(".0") + " h"


def _by_limits(
    values: Sequence[float | None], limits: Sequence[float], write: Callable[[float], str], none: str
) -> Sorted:
    """Ranges of a figure; None belongs to a class of its own, last. A limit belongs to the class below it."""
    count = len(limits) + 1
    looks = LOOKS[count]
    words = [_between(limits, at, write) for at in range(count)]
    classes = [GroundClass(str(at), words[at], looks[at]) for at in range(count)]
    classes.append(GroundClass("none", none, NONE))
    of_row = [count if value is None else bisect_left(limits, value) for value in values]
    return Sorted(tuple(classes), of_row, values, [none if value is None else write(value) for value in values])


def _between(limits: Sequence[float], at: int, write: Callable[[float], str]) -> str:
    if not limits:
        return "Any"
    if at == 0:
        return f"Up to {write(limits[0])}"
    if at == len(limits):
        return f"More than {write(limits[-1])}"
    return f"{write(limits[at - 1])} to {write(limits[at])}"


def _by_kind(keys: Sequence[str], kinds: Sequence[tuple[str, str, int]]) -> Sorted:
    """Kinds with words and look, in the order of the legend; the figure is the place there."""
    place = {key: at for at, (key, _, _) in enumerate(kinds)}
    of_row = [place[key] for key in keys]
    classes = tuple(GroundClass(key or "none", words, look) for key, words, look in kinds)
    return Sorted(classes, of_row, of_row, [classes[at].words for at in of_row])


def _cover(rows: Sequence[GroundRow], around: Around) -> Sorted:
    values = [row.cover if row.infested_m2 else None for row in rows]
    limits = round_limits([value for value in values if value is not None])
    return _by_limits(values, limits, _percent, "No component surveyed")


def _above_target(rows: Sequence[GroundRow], around: Around) -> Sorted:
    above = [row.cover - row.target_cover for row in rows]
    values = [value if value > 0 else None for value in above]
    limits = round_limits([value for value in above if value > 0])
    found = _by_limits(values, limits, lambda share: f"{100 * share:.0f} points", "At or below the target")
    return Sorted(found.classes, found.of_row, above, found.told)


SEED_DAYS = (14, 30, 60)


def _deadline(rows: Sequence[GroundRow], around: Around) -> Sorted:
    kinds = [
        ("late", "Late or missed", 6),
        ("14", "Up to 14 days left, on no order", 5),
        ("30", "15 to 30 days left, on no order", 4),
        ("60", "31 to 60 days left, on no order", 3),
        ("later", "More than 60 days left, on no order", 2),
        ("ordered", "On an order that is to meet it", 1),
        ("met", "Met", OTHER),
        ("", "No seed deadline", NONE),
    ]
    found = _by_kind([_seed_kind(row, around.on) for row in rows], kinds)
    left = [None if row.seed_due_on is None else (row.seed_due_on - around.on).days for row in rows]
    told = [_seed_told(row, days, words) for row, days, words in zip(rows, left, found.told, strict=True)]
    return Sorted(found.classes, found.of_row, left, told)


def _seed_kind(row: GroundRow, on: date) -> str:
    if row.seed_due_on is None:
        return ""
    if row.seed_state in (LATE, MISSED) or (row.seed_state != MET and row.seed_due_on < on):
        return "late"
    if row.seed_state == MET:
        return "met"
    if row.meets:
        return "ordered"
    days = (row.seed_due_on - on).days
    return next((str(most) for most in SEED_DAYS if days <= most), "later")


def _seed_told(row: GroundRow, days: int | None, words: str) -> str:
    if days is None or row.seed_state == MET:
        return words
    said = f"{days} days left" if days >= 0 else f"{-days} days past"
    return f"{said}, on an order" if row.meets else said


def _method_kinds(keys: Sequence[str], around: Around, none: str) -> Sorted:
    """The most common methods by name, and all others together."""
    common = [key for key, _ in Counter(key for key in keys if key).most_common()]
    own, others = (
        (common, []) if len(common) <= MOST_CLASSES else (common[: MOST_CLASSES - 1], common[MOST_CLASSES - 1 :])
    )
    names = around.method_names
    looks = LOOKS[max(1, min(len(own), MOST_CLASSES))]
    kinds = [(key, names.get(key, key).capitalize(), looks[at]) for at, key in enumerate(own)]
    if others:
        kinds.append(("other", f"{len(others)} other methods", OTHER))
    kinds.append(("", none, NONE))
    found = _by_kind(["other" if key in others else key for key in keys], kinds)
    told = [names.get(key, key).capitalize() if key else none for key in keys]
    return Sorted(found.classes, found.of_row, found.values, told)


def _chosen(rows: Sequence[GroundRow], around: Around) -> Sorted:
    return _method_kinds([row.chosen[0] if row.chosen else "" for row in rows], around, "Nothing chosen")


def _recommended(rows: Sequence[GroundRow], around: Around) -> Sorted:
    return _method_kinds([around.recommended.get(row.n, "") for row in rows], around, "Nothing recommended")


def _control_state(rows: Sequence[GroundRow], around: Around) -> Sorted:
    looks = {"untreated": 6, "under_treatment": 4, "maintenance": 2, "eradicated": NONE}
    return _by_kind([row.control_state for row in rows], [(key, words, looks[key]) for key, words in CONTROL_STATES])


def _order_state(rows: Sequence[GroundRow], around: Around) -> Sorted:
    looks = {"draft": 1, "issued": 3, "underway": 5, "closed": 6}
    kinds = [(key, words, looks[key]) for key, words in WorkOrder.STATES if key in looks]
    return _by_kind([row.order_state for row in rows], [*kinds, ("", "On no order", NONE)])


def _planned_hours(rows: Sequence[GroundRow], around: Around) -> Sorted:
    values = [row.hours if row.hours > 0 else None for row in rows]
    return _by_limits(values, round_limits([row.hours for row in rows]), _hours, "Nothing asked for")


AGES = ((90, "3 months"), (183, "6 months"), (365, "12 months"), (730, "2 years"), (1095, "3 years"))


def _survey_age(rows: Sequence[GroundRow], around: Around) -> Sorted:
    words = [f"Up to {AGES[0][1]}"]
    words += [f"{low} to {high}" for (_, low), (_, high) in pairwise(AGES)]
    words.append(f"More than {AGES[-1][1]}")
    classes = tuple(GroundClass(str(at), said, at + 1) for at, said in enumerate(words))
    days = [max(0, (around.on - row.observed_on).days) for row in rows]
    of_row = [bisect_right([least for least, _ in AGES], value - 1) for value in days]
    return Sorted(classes, of_row, days, [f"{value} days ago" for value in days])


MEASURES = {
    measure.code: measure
    for measure in (
        Measure("cover", "Cover", "Share of the infested ground under its leaves, by the newest survey.", _cover),
        Measure("above", "Cover above target", "Cover less the target of the patch, in points.", _above_target),
        Measure(
            "deadline", "Seed deadline", "Days left to cut before fruit, and whether an order meets it.", _deadline
        ),
        Measure("chosen", "Chosen method", "The first choice of the season on each patch.", _chosen),
        Measure("recommended", "Recommended method", "What suits the patch best by its newest survey.", _recommended),
        Measure("state", "Control state", "As somebody set it on the patch.", _control_state),
        Measure(
            "order",
            "Order state",
            "Of the season's orders, the one that is furthest on; void ones left out.",
            _order_state,
        ),
        Measure(
            "hours",
            "Planned hours",
            "Likely person-hours in the field that the season asks for, done ones left out.",
            _planned_hours,
        ),
        Measure("age", "Age of the survey", "Days since the patch was last surveyed.", _survey_age),
    )
}
USUAL = "cover"
