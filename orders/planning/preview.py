"""What choosing a method on many patches would do, patch by patch, before anything is stored."""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from estimating.columns import Known
from orders.estimates.models import Estimate, Method
from orders.estimates.selectors import method_get, methods
from orders.planning.capacity import Capacity, Load
from orders.planning.doable import Doable, StandIns
from orders.planning.filling import (
    NO_WORK,
    REPLACEABLE,
    Filling,
    FundFilling,
    filling_of,
    season_standing,
)
from orders.planning.models import Prescription, Season
from orders.planning.overview import Overview, PatchLine, overview
from orders.planning.selectors import estimates_by_method, estimates_wanted
from orders.planning.windows import Days, SeasonWindows
from orders.sites.models import Patch

RECOMMENDED = "recommended"
SEVERAL = "several"  # the method of a choice that holds several
STAND_IN = "without-herbicide"  # what stands in where what is recommended cannot be done
NOT_METHODS = (RECOMMENDED, NO_WORK, SEVERAL, STAND_IN)
ALL_CAN_BE_DONE = "What is recommended here can be done."
MOST_PATCHES = 2_000  # of one choice by name: what a request and a page can carry

# What the label says of estimates, by their id: the sentences that forbid the mix on that ground. Handed in, since the
# earlier applications that it counts belong to a later stage.
LabelWord = Callable[[Sequence[Estimate]], Mapping[int, Sequence[str]]]


@dataclass(frozen=True, kw_only=True)
class ChoiceAsk:
    """A choice: `method` a code, "recommended", "without-herbicide" or "none", for patches of a season; `picks` names
    another for a patch by its key. `why` is needed where it is not what is recommended; `replace` drops what else is
    chosen there and is on no order yet; `rest` leaves alone what was done in the season or passed over by a person."""

    season: Season
    method: str
    patches: Sequence[Patch]
    why: str = ""
    replace: bool = True
    rest: bool = False
    crew_kind: str = "staff"
    asked: str = ""
    picks: Mapping[int, str] = field(default_factory=dict)

    @classmethod
    def of_picks(cls, season: Season, picks: Mapping[Patch, str], **more: Any) -> "ChoiceAsk":
        """A method for each patch; one that all of them have in common is the choice's own."""
        named = set(picks.values())
        method = named.pop() if len(named) == 1 else SEVERAL
        by_key = {patch.pk: code for patch, code in picks.items()}
        return cls(season=season, method=method, patches=list(picks), picks=by_key, **more)

    def method_for(self, patch: Patch) -> str:
        return self.picks.get(patch.pk, self.method)


@dataclass(frozen=True, kw_only=True)
class ChoiceRow:
    """One patch and method. `refused` says why nothing would be done there; `stands` that it is chosen already;
    `clears` that what is chosen there is dropped and nothing comes in its place."""

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
    clears: bool = False
    refused: str = ""

    @property
    def is_new(self) -> bool:
        return not self.refused and not self.stands and not self.clears

    @property
    def acts(self) -> bool:
        return self.is_new or (self.clears and not self.refused)

    @property
    def code(self) -> str:
        return NO_WORK if self.method is None else self.method.code


@dataclass(frozen=True)
class Preview:
    """Rows, what the choice itself asks for, the season before and after, and what the crews can give."""

    ask: ChoiceAsk
    rows: tuple[ChoiceRow, ...]
    chosen: Load
    before: Load
    after: Load
    capacity: Capacity
    funds: tuple[FundFilling, ...]
    fingerprint: str

    @property
    def filled(self) -> Filling:
        return Filling(self.ask.season, self.chosen, self.before, self.after, self.capacity, self.funds)

    @property
    def new(self) -> tuple[ChoiceRow, ...]:
        return tuple(row for row in self.rows if row.is_new)

    @property
    def acting(self) -> tuple[ChoiceRow, ...]:
        """What would be chosen, and where something is dropped with nothing in its place."""
        return tuple(row for row in self.rows if row.acts)

    @property
    def clearing(self) -> tuple[ChoiceRow, ...]:
        return tuple(row for row in self.rows if row.clears and row.acts)

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
        return self.filled.over_budget

    @property
    def needs_why(self) -> bool:
        """Some rows are not what is recommended, and no reason is given."""
        return not self.ask.why.strip() and any(row.needs_why for row in self.acting)


@dataclass
class _Maker:
    """What the rows of one preview share."""

    ask: ChoiceAsk
    found: Overview
    estimates: Mapping[tuple[int, str], Estimate]
    windows: SeasonWindows
    methods: Mapping[str, Method]
    stand_ins: StandIns
    forbidden: Mapping[int, Sequence[str]] = field(default_factory=dict)

    def rows(self, line: PatchLine) -> list[ChoiceRow]:
        method = self.ask.method_for(line.patch)
        if method == NO_WORK:
            return [self._cleared(line)]
        if method not in (RECOMMENDED, STAND_IN):
            return [self._row(line, method, {method})]
        codes = line.recommended if method == RECOMMENDED else self.stand_ins.codes(line)
        if not codes:
            because = line.because if method == RECOMMENDED else self._no_stand_in(line)
            stands = self.stands(line, NO_WORK)
            return [ChoiceRow(line=line, method=None, stands=stands, refused="" if stands else because)]
        return [self._row(line, code, set(codes)) for code in codes]

    def stands(self, line: PatchLine, code: str) -> bool:
        """Nothing is asked for anew: the method is chosen there, or the patch is decided and the rest is wanted."""
        firsts = _firsts(line)
        if self.ask.rest:
            return any(row.is_own_choice or row.method.code == code for row in firsts)
        return any(row.method.code == code and row.state != "done" for row in firsts)

    def _no_stand_in(self, line: PatchLine) -> str:
        hindered = self.stand_ins.hindered(line)
        return f"{hindered} Nothing fits that asks for no herbicide." if hindered else ALL_CAN_BE_DONE

    def cells(self, line: PatchLine) -> list[ChoiceRow]:
        """Every method there is on the patch, each judged as if it were chosen alone."""
        there = {row.method.code for row in line.chosen}
        offered = [code for code, method in self.methods.items() if method.is_active or code in there]
        return [self._row(line, code, {code}) for code in offered]

    def _cleared(self, line: PatchLine) -> ChoiceRow:
        gone = tuple(row for row in line.chosen if row.state in REPLACEABLE and row.origin != "follow_up")
        because = "" if gone else "Nothing is chosen here that could be dropped."
        return ChoiceRow(line=line, method=None, replaces=gone, needs_why=True, clears=True, refused=because)

    def _row(self, line: PatchLine, code: str, together: set[str]) -> ChoiceRow:
        """`together`: methods that this choice asks for on the patch, which do not replace each other."""
        fits, reasons = self.found.suited.method_on_patch(line.row, self.found.suited.methods.codes.index(code))
        is_recommended = code in line.recommended
        stand_in = "" if is_recommended else self.stand_ins.codes(line).get(code, "")
        spoken = " ".join(dict.fromkeys(reason.text for reason in reasons))
        stands = self.stands(line, code)
        days = None if fits == Known.NO or (stands and self.ask.rest) else self.windows.days(line.survey, code)
        replaced = [row for row in line.chosen if self._goes(row, together)]
        row = ChoiceRow(
            line=line,
            method=self.methods[code],
            fits=fits.name.lower(),
            because=line.recommended.get(code) or stand_in or spoken,
            is_recommended=is_recommended,
            estimate=self.estimates.get((line.survey.pk, code)),
            days=days,
            replaces=tuple(replaced),
            stands=stands,
            needs_why=not is_recommended and not stand_in,
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
        if row.method is not None and not row.method.is_active:
            return f"{row.method.name.capitalize()} is no longer in use."
        if row.fits != "yes":
            return row.because
        if self.ask.replace and held:
            return (
                f"{held[0].method.name} is on a work order here. Void that order first, or keep it beside this choice."
            )
        if row.estimate is None:
            if row.method is not None and row.method.uses_herbicide and row.method.default_mix_id is None:
                return self.stand_ins.doable.why_not(row.code, row.line.patch.site)
            whom = " for volunteers" if self.ask.crew_kind == "volunteers" else ""
            return f"There is no estimate{whom} of this method on the newest survey. Make one first."
        if row.days is None:
            notes = " ".join(self.windows.notes(row.line.survey, row.estimate.method.code))
            return f"No window is open in {self.ask.season}. {notes}".strip()
        return " ".join(self.forbidden.get(row.estimate.pk, ()))


def choices_preview(ask: ChoiceAsk, repeat_years: Mapping[int, int], label_word: LabelWord | None = None) -> Preview:
    """What would be chosen, dropped and refused. Stores nothing."""
    return preview_of(ask, choice_rows(ask, repeat_years, label_word))


def choice_rows(
    ask: ChoiceAsk, repeat_years: Mapping[int, int], label_word: LabelWord | None = None
) -> tuple[ChoiceRow, ...]:
    """The rows of a choice alone, without the season around it."""
    for code in {ask.method, *ask.picks.values()} - {*NOT_METHODS}:
        method_get(code)
    found = overview(ask.season, repeat_years, only=ask.patches)
    stand_ins = _stand_ins(ask, found)
    wanted = {(line.survey.pk, code) for line in found.lines for code in _codes(ask, line, stand_ins)}
    maker = _maker(stand_ins, ask, estimates_wanted(wanted, ask.crew_kind), label_word)
    return tuple(row for line in found.lines for row in maker.rows(line))


def choice_cells(
    ask: ChoiceAsk, repeat_years: Mapping[int, int], label_word: LabelWord | None = None
) -> list[tuple[PatchLine, list[ChoiceRow]]]:
    """Each patch with every method side by side, as each would be judged alone."""
    found = overview(ask.season, repeat_years, only=ask.patches)
    made = estimates_by_method([line.survey for line in found.lines], ask.crew_kind)
    maker = _maker(_stand_ins(ask, found), ask, made, label_word)
    return [(line, maker.cells(line)) for line in found.lines]


def _stand_ins(ask: ChoiceAsk, found: Overview) -> StandIns:
    return StandIns(Doable(ask.season, {row.code: row for row in methods()}), found)


def _codes(ask: ChoiceAsk, line: PatchLine, stand_ins: StandIns) -> Iterable[str]:
    method = ask.method_for(line.patch)
    if method == STAND_IN:
        return stand_ins.codes(line)
    return line.recommended if method == RECOMMENDED else [method]


def _maker(
    stand_ins: StandIns,
    ask: ChoiceAsk,
    made: Mapping[tuple[int, str], Estimate],
    label_word: LabelWord | None,
) -> _Maker:
    """A label speaks of estimates with a herbicide and of nothing else; what stands already is not judged anew."""
    windows, known = SeasonWindows(ask.season), stand_ins.doable.methods
    maker = _Maker(ask, stand_ins.found, made, windows, known, stand_ins)
    if label_word is not None:
        lines = {line.survey.pk: line for line in stand_ins.found.lines}
        asked = [(lines[survey], code, one) for (survey, code), one in made.items() if one.mix_id is not None]
        maker.forbidden = label_word([one for line, code, one in asked if not maker.stands(line, code)])
    return maker


def preview_of(ask: ChoiceAsk, rows: tuple[ChoiceRow, ...]) -> Preview:
    """The rows beside the season as it stands and as it would be."""
    new = [(row.estimate, row.line.patch.site_id) for row in rows if row.is_new and row.estimate]
    standing = season_standing(ask.season)
    replaced = {row.pk for choice in rows if choice.acts for row in choice.replaces}
    filled = filling_of(ask.season, standing, replaced, new)
    return Preview(
        ask,
        rows,
        filled.new,
        filled.before,
        filled.after,
        filled.capacity,
        filled.funds,
        _fingerprint(ask, rows),
    )


def _firsts(line: PatchLine) -> list[Prescription]:
    """What was chosen there, without what follows it in chains."""
    return [row for row in line.chosen if row.origin != "follow_up"]


def _fingerprint(ask: ChoiceAsk, rows: Sequence[ChoiceRow]) -> str:
    """Of what would be written: a choice is made as it was shown, or not at all."""
    content = [str(ask.season.public_id), *sorted(_told(row) for row in rows if row.acts)]
    return hashlib.sha256(json.dumps(content).encode()).hexdigest()


def _told(row: ChoiceRow) -> str:
    replaced = sorted(f"{old.public_id}.{old.version}" for old in row.replaces)
    if row.clears:
        return "|".join([NO_WORK, *replaced])
    assert row.estimate is not None  # a row without one is refused
    assert row.days is not None
    ends: tuple[date, date] = (row.days.first, row.days.last)
    return "|".join([str(row.estimate.public_id), *(day.isoformat() for day in ends), *replaced])
