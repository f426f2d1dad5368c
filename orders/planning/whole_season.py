"""What a look at the whole season came to, kept as sums: thousands of rows are no page."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from estimating.spread import SeasonFit
from orders.planning.capacity import Capacity, Load
from orders.planning.filling import Filling, FundFilling
from orders.planning.funds import season_funds
from orders.planning.models import Season
from orders.planning.preview import Preview

MOST_REASONS = 100


@dataclass(frozen=True)
class LeftOut:
    """Why patches are left out, how many, and one for which it holds."""

    why: str
    patches: int
    such_as: str


def left_out(preview: Preview) -> list[LeftOut]:
    """The commonest first."""
    counts = Counter(row.refused for row in preview.refused)
    named = {row.refused: str(row.line.patch) for row in reversed(preview.refused)}
    return [LeftOut(why, count, named[why]) for why, count in counts.most_common()]


def season_found(preview: Preview) -> dict[str, Any]:
    """As a run keeps it."""
    reasons = left_out(preview)
    return {
        "counts": {"new": len(preview.new), "standing": len(preview.standing), "refused": len(preview.refused)},
        "methods": dict(Counter(row.code for row in preview.new)),
        "left_out": [asdict(one) for one in reasons[:MOST_REASONS]],
        "reasons_more": max(0, len(reasons) - MOST_REASONS),
        "chosen": asdict(preview.chosen),
        "before": asdict(preview.before),
        "after": asdict(preview.after),
        "capacity": asdict(preview.capacity),
        "funds": [[one.fund and one.fund.pk, asdict(one.before), asdict(one.after)] for one in preview.funds],
    }


def filling_found(season: Season, found: Mapping[str, Any]) -> Filling:
    """How full the season gets, of what a run kept; a fund that was taken away since is left out."""
    known = {fund.pk: fund for fund in season_funds(season)}
    funds = [(key, _load(before), _load(after)) for key, before, after in found["funds"]]
    return Filling(
        season=season,
        new=_load(found["chosen"]),
        before=_load(found["before"]),
        after=_load(found["after"]),
        capacity=Capacity(**found["capacity"]),
        funds=tuple(
            FundFilling(None if key is None else known[key], before, after)
            for key, before, after in funds
            if key is None or key in known
        ),
    )


def _load(told: Mapping[str, Any]) -> Load:
    return Load(**{**told, "hours": SeasonFit(**told["hours"]), "cents": SeasonFit(**told["cents"])})
