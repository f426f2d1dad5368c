"""How full a season gets with what is being chosen: its hours, days and money beside what there is. Stores nothing."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from orders.estimates.models import Estimate
from orders.planning.capacity import Capacity, Load, Served, load_of, season_capacity
from orders.planning.funds import fund_paying, season_funds
from orders.planning.models import Prescription, Season, SeasonFund
from orders.planning.selectors import STANDING

NO_WORK = "none"  # in place of a method: what is chosen there and is on no order is dropped
REPLACEABLE = ("open", "planned")
# Of an estimate what a sum is made of.
FIGURES = (
    "method",
    "hours_likely",
    "own_log_sd",
    "shared_log_sd",
    "total_cents",
    "cost_low_cents",
    "cost_high_cents",
    "paid_person_hours",
    "crew_days",
)


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


def filling_of(
    season: Season,
    standing: Sequence[Prescription],
    gone: Collection[int],
    new: Iterable[tuple[Served, int]],
) -> Filling:
    """`gone`: keys of what is replaced; `new`: what comes, each with its site's key. A fund is taken to pay for its
    sites on all days of the season; which days it does not pay for is seen when the choice is made."""
    funds = season_funds(season)
    pays = _Pays(season, funds)
    coming = [Served(row.estimate, row.share, pays.of(site)) for row, site in new]
    before = [_standing(row) for row in standing]
    after = [*(_standing(row) for row in standing if row.pk not in gone), *coming]
    return Filling(
        season,
        load_of(coming),
        load_of(before),
        load_of(after),
        season_capacity(season),
        _by_fund(funds, before, after),
    )


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
    light = ("method__qualification", "survey__patch__site", *FIGURES)
    coming = [(Served(one, 1.0), one.survey.patch.site_id) for one in rows.only(*light).order_by("id")]
    standing = season_standing(season)
    gone = {row.pk for row in standing if row.patch_id in picks and _goes(row, picks[row.patch_id], replace)}
    return filling_of(season, standing, with_what_follows(gone, standing), coming)


def _goes(row: Prescription, pick: Pick, replace: bool) -> bool:
    is_first = row.state in REPLACEABLE and row.origin != "follow_up"
    return is_first and (pick.choice == NO_WORK or (replace and row.method.code not in pick.estimates))


def with_what_follows(keys: set[int], standing: Sequence[Prescription]) -> set[int]:
    """Those keys and all that follows them in chains and is on no order: it goes with them."""
    rows = [row for row in standing if row.origin == "follow_up" and row.state in REPLACEABLE]
    grown = keys | {row.pk for row in rows if row.follows_id in keys}
    return keys if grown == keys else with_what_follows(grown, standing)


def season_standing(season: Season) -> list[Prescription]:
    """What is asked for in a season, with no more of it than sums need."""
    rows = Prescription.objects.filter(season=season, state__in=STANDING).select_related("method", "estimate")
    own = ("state", "origin", "follows", "patch", "share_left", "fund", "season")
    light = (*own, "method__code", "method__qualification", *(f"estimate__{name}" for name in FIGURES))
    return list(rows.only(*light).order_by("id"))


def _standing(row: Prescription) -> Served:
    """Its method is its estimate's too, and is read already."""
    row.estimate.method = row.method
    return Served(row.estimate, row.share_left, row.fund_id)


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


def _by_fund(funds: Sequence[SeasonFund], before: Sequence[Served], after: Sequence[Served]) -> tuple[FundFilling, ...]:
    """Every fund; work that none pays for only where there is some beside funds."""
    listed: list[SeasonFund | None] = [*funds]
    if funds and any(row.fund_id is None for row in (*before, *after)):
        listed.append(None)
    return tuple(FundFilling(fund, _of(fund, before), _of(fund, after)) for fund in listed)


def _of(fund: SeasonFund | None, rows: Sequence[Served]) -> Load:
    key = None if fund is None else fund.pk
    return load_of(row for row in rows if row.fund_id == key)
