"""What choosing a method on many patches would do, patch by patch, before anything is stored."""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from orders.estimates.models import Estimate, Method
from orders.estimates.selectors import method_get, methods
from orders.planning.capacity import Capacity, Load, Served, load_of, season_capacity
from orders.planning.models import Prescription, Season
from orders.planning.overview import Overview, PatchLine, overview
from orders.planning.selectors import estimates_by_method, prescriptions_standing
from orders.planning.windows import Days, SeasonWindows
from orders.sites.models import Patch

RECOMMENDED = "recommended"
REPLACEABLE = ("open", "planned")
MOST_PATCHES = 2_000  # of one choice by name: what a request and a page can carry

# What the label says of estimates, by their id: the sentences that forbid the mix on that ground. Handed in, since the
# earlier applications that it counts belong to a later stage.
LabelWord = Callable[[Sequence[Estimate]], Mapping[int, Sequence[str]]]


@dataclass(frozen=True, kw_only=True)
class ChoiceAsk:
    """A choice: `method` a code or "recommended", for patches of a season; `why` is needed where it is not what is
    recommended; `replace` drops what else is chosen there and is on no order yet."""

    season: Season
    method: str
    patches: Sequence[Patch]
    why: str = ""
    replace: bool = True
    crew_kind: str = "staff"
    asked: str = ""


@dataclass(frozen=True, kw_only=True)
class ChoiceRow:
    """One patch and method. `refused` says why nothing would be done there; `stands` that it is chosen already."""

    line: PatchLine
    method: Method | None
    fits: str = ""
    because: str = ""
    is_recommended: bool = False
    estimate: Estimate | None = None
    days: Days | None = None
    replaces: tuple[Prescription, ...] = ()
    stands: bool = False
    needs_why: bool = False
    refused: str = ""

    @property
    def is_new(self) -> bool:
        return not self.refused and not self.stands


@dataclass(frozen=True)
class Preview:
    """Rows, what the choice itself asks for, the season before and after, and what the crews can give."""

    ask: ChoiceAsk
    rows: tuple[ChoiceRow, ...]
    chosen: Load
    before: Load
    after: Load
    capacity: Capacity
    fingerprint: str

    @property
    def new(self) -> tuple[ChoiceRow, ...]:
        return tuple(row for row in self.rows if row.is_new)

    @property
    def refused(self) -> tuple[ChoiceRow, ...]:
        return tuple(row for row in self.rows if row.refused)

    @property
    def standing(self) -> tuple[ChoiceRow, ...]:
        return tuple(row for row in self.rows if row.stands and not row.refused)

    @property
    def hours_sum(self) -> float:
        """Likely hours of the rows that would be chosen, as they stand in the table; the range is of the whole."""
        return sum(row.estimate.hours_likely for row in self.new if row.estimate)

    @property
    def over_budget(self) -> float | None:
        """Chance that the season with this choice costs more than its budget; None without one."""
        budget = self.ask.season.budget_cents
        return None if budget is None else self.after.cents.chance_above(budget)

    @property
    def needs_why(self) -> bool:
        """Some rows are not what is recommended, and no reason is given."""
        return not self.ask.why.strip() and any(row.needs_why for row in self.new)


@dataclass
class _Maker:
    """What the rows of one preview share."""

    ask: ChoiceAsk
    found: Overview
    estimates: Mapping[tuple[int, str], Estimate]
    windows: SeasonWindows
    methods: Mapping[str, Method]
    forbidden: Mapping[int, Sequence[str]] = field(default_factory=dict)

    def rows(self, line: PatchLine) -> list[ChoiceRow]:
        if self.ask.method != RECOMMENDED:
            return [self._row(line, self.ask.method, {self.ask.method})]
        if not line.recommended:
            return [ChoiceRow(line=line, method=None, refused=line.because)]
        return [self._row(line, code, set(line.recommended)) for code in line.recommended]

    def _row(self, line: PatchLine, code: str, together: set[str]) -> ChoiceRow:
        """`together`: methods that this choice asks for on the patch, which do not replace each other."""
        fits, reasons = self.found.suited.method_on_patch(line.row, self.found.suited.methods.codes.index(code))
        is_recommended = code in line.recommended
        days = self.windows.days(line.survey, code)
        replaced = [row for row in line.chosen if self._goes(row, together)]
        row = ChoiceRow(
            line=line,
            method=self.methods[code],
            fits=fits.name.lower(),
            because=line.recommended.get(code) or " ".join(dict.fromkeys(reason.text for reason in reasons)),
            is_recommended=is_recommended,
            estimate=self.estimates.get((line.survey.pk, code)),
            days=days,
            replaces=tuple(replaced),
            stands=any(row.method.code == code and row.state != "done" for row in _firsts(line)),
            needs_why=not is_recommended,
        )
        refused = "" if row.stands else self._refused(row, together)
        return ChoiceRow(**{**row.__dict__, "refused": refused})

    def _goes(self, row: Prescription, together: set[str]) -> bool:
        return (
            self.ask.replace
            and row.state in REPLACEABLE
            and row.origin != "follow_up"
            and row.method.code not in together
        )

    def _refused(self, row: ChoiceRow, together: set[str]) -> str:
        """Why the row cannot be chosen, in the order in which a person would settle it."""
        held = [other for other in row.line.chosen if other.state == "ordered" and other.method.code not in together]
        if row.fits != "yes":
            return row.because
        if self.ask.replace and held:
            return (
                f"{held[0].method.name} is on a work order here. Void that order first, or keep it beside this choice."
            )
        if row.estimate is None:
            whom = " for volunteers" if self.ask.crew_kind == "volunteers" else ""
            return f"There is no estimate{whom} of this method on the newest survey. Make one first."
        if row.days is None:
            notes = " ".join(self.windows.notes(row.line.survey, row.estimate.method.code))
            return f"No window is open in {self.ask.season}. {notes}".strip()
        return " ".join(self.forbidden.get(row.estimate.pk, ()))


def choices_preview(ask: ChoiceAsk, repeat_years: Mapping[int, int], label_word: LabelWord | None = None) -> Preview:
    """What would be chosen, dropped and refused. Stores nothing."""
    if ask.method != RECOMMENDED:
        method_get(ask.method)
    found = overview(ask.season, repeat_years, only=ask.patches)
    surveys = [line.survey for line in found.lines]
    estimates = estimates_by_method(surveys, ask.crew_kind)
    maker = _Maker(ask, found, estimates, SeasonWindows(ask.season), {row.code: row for row in methods()})
    if label_word is not None:
        maker.forbidden = label_word(_asked_estimates(ask, found, estimates))
    rows = tuple(row for line in found.lines for row in maker.rows(line))
    return _preview(ask, rows)


def _asked_estimates(ask: ChoiceAsk, found: Overview, estimates: Mapping[tuple[int, str], Estimate]) -> list[Estimate]:
    """Those of the rows with a herbicide: the label speaks of nothing else."""
    asked = [
        estimates.get((line.survey.pk, code))
        for line in found.lines
        for code in (line.recommended if ask.method == RECOMMENDED else [ask.method])
    ]
    return [made for made in asked if made is not None and made.mix_id is not None]


def _preview(ask: ChoiceAsk, rows: tuple[ChoiceRow, ...]) -> Preview:
    new = [Served(row.estimate, 1.0) for row in rows if row.is_new and row.estimate]
    standing = list(prescriptions_standing(ask.season))
    replaced = {row.pk for choice in rows if choice.is_new for row in choice.replaces}
    gone = _with_what_follows(replaced, standing)
    before = [Served(row.estimate, row.share_left) for row in standing]
    kept = [Served(row.estimate, row.share_left) for row in standing if row.pk not in gone]
    return Preview(
        ask,
        rows,
        load_of(new),
        load_of(before),
        load_of([*kept, *new]),
        season_capacity(ask.season),
        _fingerprint(ask, rows),
    )


def _firsts(line: PatchLine) -> list[Prescription]:
    """What was chosen there, without what follows it in chains."""
    return [row for row in line.chosen if row.origin != "follow_up"]


def _with_what_follows(keys: set[int], standing: Sequence[Prescription]) -> set[int]:
    """Those keys and all that follows them in chains and is on no order: it goes with them."""
    rows = [row for row in standing if row.origin == "follow_up" and row.state in REPLACEABLE]
    grown = keys | {row.pk for row in rows if row.follows_id in keys}
    return keys if grown == keys else _with_what_follows(grown, standing)


def _fingerprint(ask: ChoiceAsk, rows: Sequence[ChoiceRow]) -> str:
    """Of what would be written: a choice is made as it was shown, or not at all."""
    content = [str(ask.season.public_id), *sorted(_told(row) for row in rows if row.is_new)]
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()


def _told(row: ChoiceRow) -> str:
    assert row.estimate is not None  # a row without one is refused
    assert row.days is not None
    replaced = sorted(f"{old.public_id}.{old.version}" for old in row.replaces)
    ends: tuple[date, date] = (row.days.first, row.days.last)
    return "|".join([str(row.estimate.public_id), *(day.isoformat() for day in ends), *replaced])
