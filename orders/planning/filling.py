"""How full a season gets with what is being chosen: its hours, days and money beside what there is. Stores nothing."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from estimating.columns import BoolArray, FloatArray, IntArray
from orders.common.kept import changes_version, kept
from orders.estimates.models import Estimate
from orders.planning.capacity import (
    FUND,
    NO_FUND,
    PIECE_COLUMNS,
    Capacity,
    Load,
    Piece,
    load_of,
    pieces_table,
    season_capacity,
)
from orders.planning.funds import fund_paying, season_funds
from orders.planning.models import Prescription, Season, SeasonFund
from orders.planning.selectors import STANDING

NO_WORK = "none"  # in place of a method: what is chosen there and is on no order is dropped
REPLACEABLE = ("open", "planned")


@dataclass(frozen=True)
class FundFilling:
    """One fund of the season; `fund` None is work that no fund pays for."""

    fund: SeasonFund | None
    before: Load
    after: Load

    @property
    def chance_over(self) -> float | None:
        return None if self.fund is None else self.after.cents.chance_above(self.fund.budget_cents)


@dataclass(frozen=True)
class Filling:
    """`new` is what is being chosen alone, `before` the season as it stands and `after` with it."""

    season: Season
    new: Load
    before: Load
    after: Load
    capacity: Capacity
    funds: tuple[FundFilling, ...]

    @property
    def over_budget(self) -> float | None:
        """Chance that the season costs more than its budget; None without one."""
        budget = self.season.budget_cents
        return None if budget is None else self.after.cents.chance_above(budget)


@dataclass(frozen=True)
class Standing:
    """What is asked for in a season, a row each in the order of their keys, with no more than sums need: `pieces`
    [row, column]. `follows` holds the key of what a row follows in a chain, 0 without; `methods` codes."""

    keys: IntArray
    patches: IntArray
    follows: IntArray
    is_follow_up: BoolArray
    may_go: BoolArray
    methods: tuple[str, ...]
    pieces: FloatArray
    load: Load
    fund_loads: Mapping[int, Load]

    def with_what_follows(self, gone: Collection[int]) -> BoolArray:
        """Those keys and all that follows them in chains and is on no order: it goes with them."""
        going = np.isin(self.keys, list(gone))
        while True:
            follows = self.is_follow_up & self.may_go & np.isin(self.follows, self.keys[going])
            if not (follows & ~going).any():
                return going
            going |= follows


def season_standing(season: Season) -> Standing:
    """Read once a change: whoever picks methods asks for it again and again."""
    return kept(f"standing/season-{season.pk}", changes_version(), lambda: _standing(season))


def _standing(season: Season) -> Standing:
    asked = ("pk", "patch_id", "follows_id", "origin", "state", "method__code", "share_left", "fund_id")
    made = ("method_id", "method__qualification_id", *(f"estimate__{name}" for name in PIECE_COLUMNS[2:]))
    stands = Prescription.objects.filter(season=season, state__in=STANDING).order_by("id")
    rows = list(stands.values_list(*asked, *made))
    pieces = pieces_table(Piece(*row[len(asked) :], *row[6:8]) for row in rows)
    keys, patches, follows, origins, states, methods = (
        zip(*(row[:6] for row in rows), strict=True) if rows else [()] * 6
    )
    return Standing(
        keys=np.array(keys, dtype=np.int64),
        patches=np.array(patches, dtype=np.int64),
        follows=np.array([key or 0 for key in follows], dtype=np.int64),
        is_follow_up=np.array([origin == "follow_up" for origin in origins], dtype=bool),
        may_go=np.array([state in REPLACEABLE for state in states], dtype=bool),
        methods=methods,
        pieces=pieces,
        load=load_of(pieces),
        fund_loads=_by_fund(pieces),
    )


def filling_of(
    season: Season, standing: Standing, gone: Collection[int], new: Iterable[tuple[Estimate, int]]
) -> Filling:
    """`gone`: keys of what is replaced, without what follows it; `new`: estimates of what comes, each with its site's
    key. A fund is taken to pay for its sites on all days of the season; which days it does not pay for is seen when the
    choice is made."""
    funds = season_funds(season)
    pays = _Pays(season, funds)
    coming = pieces_table(_coming(estimate, pays.of(site)) for estimate, site in new)
    stays = standing.pieces[~standing.with_what_follows(gone)]
    moves = len(coming) or len(stays) < len(standing.pieces)
    after = np.concatenate([stays, coming])
    return Filling(
        season,
        load_of(coming),
        standing.load,
        load_of(after) if moves else standing.load,
        kept(f"capacity/season-{season.pk}", changes_version(), lambda: season_capacity(season)),
        _funds_filling(funds, standing.fund_loads, _by_fund(after) if moves else standing.fund_loads),
    )


def _coming(made: Estimate, fund: int | None) -> Piece:
    figures = [getattr(made, name) for name in Piece._fields[2:10]]
    return Piece._make([made.method_id, made.method.qualification_id, *figures, 1.0, fund])


@dataclass(frozen=True)
class Pick:
    """What is being picked on a patch: a method's code, "recommended" or "none", and the key of the estimate of each
    method that this comes to."""

    choice: str
    estimates: Mapping[str, int]


def picks_filling(season: Season, picks: Mapping[int, Pick], *, replace: bool = True) -> Filling:
    """The same for what is being picked on patches by their keys; `replace`: in place of what is chosen there."""
    keys = [key for pick in picks.values() for key in pick.estimates.values()]
    rows = Estimate.objects.filter(pk__in=keys, survey__patch__in=picks).select_related("method", "survey__patch")
    light = ("method__qualification", "survey__patch__site", *PIECE_COLUMNS[2:])
    coming = [(one, one.survey.patch.site_id) for one in rows.only(*light).order_by("id")]
    standing = season_standing(season)
    return filling_of(season, standing, _gone(standing, picks, replace=replace), coming)


def _gone(standing: Standing, picks: Mapping[int, Pick], *, replace: bool) -> set[int]:
    """Keys of what is dropped on the patches where something is picked."""
    asked = standing.may_go & ~standing.is_follow_up & np.isin(standing.patches, list(picks))
    gone = set()
    for row in np.flatnonzero(asked).tolist():
        pick = picks[int(standing.patches[row])]
        if pick.choice == NO_WORK or (replace and standing.methods[row] not in pick.estimates):
            gone.add(int(standing.keys[row]))
    return gone


class _Pays:
    """Which fund pays at a site, found once a site."""

    def __init__(self, season: Season, funds: Sequence[SeasonFund]) -> None:
        self.season, self.funds = season, funds
        self.known: dict[int, int | None] = {}

    def of(self, site: int) -> int | None:
        if site not in self.known:
            paying = fund_paying(site, self.season.first_day, self.season.last_day, self.funds)
            self.known[site] = paying.fund.pk if paying.fund else None
        return self.known[site]


def _by_fund(pieces: FloatArray) -> dict[int, Load]:
    """By the key of a fund what it pays for, and under `NO_FUND` what none does."""
    paying = pieces[:, FUND].astype(np.int64)
    return {fund: load_of(pieces[paying == fund]) for fund in np.unique(paying).tolist()}


def _funds_filling(
    funds: Sequence[SeasonFund], before: Mapping[int, Load], after: Mapping[int, Load]
) -> tuple[FundFilling, ...]:
    """Every fund; work that none pays for only where there is some beside funds."""
    nothing = load_of(pieces_table([]))
    listed: list[SeasonFund | None] = [*funds]
    if funds and (NO_FUND in before or NO_FUND in after):
        listed.append(None)
    keys = [NO_FUND if fund is None else fund.pk for fund in listed]
    return tuple(
        FundFilling(fund, before.get(key, nothing), after.get(key, nothing))
        for fund, key in zip(listed, keys, strict=True)
    )
