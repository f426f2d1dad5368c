"""The bars of a season that fills: what is asked for, what is being chosen beside it, and what there is."""

from dataclasses import dataclass

from orders.desk.templatetags.units import decimals
from orders.planning.capacity import Load
from orders.planning.filling import Filling, FundFilling

LITTLE_CHANCE, EVEN_CHANCE = 0.2, 0.5


@dataclass(frozen=True)
class Bar:
    """Widths in percent of the bar: what stands and stays, what comes, the high end of the range, and where what there
    is ends (None: nobody set or knows it). `state` is the class of its mark, `verdict` the same in words."""

    name: str
    before: str
    after: str
    span: str
    gives: str
    stands: float
    comes: float
    high: float
    mark: float | None
    state: str
    verdict: str


@dataclass(frozen=True)
class _Measure:
    before: float
    after: float
    gives: float | None
    low: float | None = None
    high: float | None = None
    chance_over: float | None = None


def filling_bars(filled: Filling) -> list[Bar]:
    before, after, gives = filled.before, filled.after, filled.capacity
    licensed = _Measure(before.licensed_paid_hours, after.licensed_paid_hours, gives.licensed_paid_hours)
    return [
        _hours("Person-hours", _scaled(before, after, gives.paid_hours)),
        _hours("of them licensed", licensed),
        _hours("Crew-days", _Measure(before.crew_days, after.crew_days, gives.crew_days)),
        _dollars("Money", before, after, filled.season.budget_cents, filled.over_budget),
        *(_fund(one) for one in filled.funds),
    ]


def _scaled(before: Load, after: Load, gives: float) -> _Measure:
    """Paid hours with the range of the field hours in them: what is beside the field work follows it."""
    scale = after.paid_hours / float(after.hours.likely) if after.hours.likely else 0.0
    low, high = float(after.hours.low) * scale, float(after.hours.high) * scale
    return _Measure(before.paid_hours, after.paid_hours, gives, low, high)


def _fund(one: FundFilling) -> Bar:
    name = one.fund.name if one.fund else "No fund"
    return _dollars(name, one.before, one.after, one.fund.budget_cents if one.fund else None, one.chance_over)


def _hours(name: str, of: _Measure) -> Bar:
    span = "" if of.low is None or of.high is None else f"{_whole(of.low)} to {_whole(of.high)}"
    return _bar(name, of, (_whole(of.before), _whole(of.after), span, _whole(of.gives or 0)), _room(of))


def _dollars(name: str, before: Load, after: Load, budget: int | None, chance: float | None) -> Bar:
    low, high = float(after.dollars.low), float(after.dollars.high)
    was, will = float(before.dollars.likely), float(after.dollars.likely)
    of = _Measure(was, will, None if budget is None else budget / 100, low, high, chance)
    said = (
        _money(was),
        _money(will),
        f"{_money(low)} to {_money(high)}",
        "" if budget is None else _money(budget / 100),
    )
    return _bar(name, of, said, _odds(chance))


def _bar(name: str, of: _Measure, said: tuple[str, str, str, str], verdict: tuple[str, str]) -> Bar:
    whole = max(of.before, of.after, of.high or 0.0, of.gives or 0.0) or 1.0
    stays = min(of.before, of.after)
    return Bar(
        name,
        *said,
        stands=_percent(stays, whole),
        comes=_percent(of.after - stays, whole),
        high=_percent(of.high if of.high is not None else of.after, whole),
        mark=None if of.gives is None else _percent(of.gives, whole),
        state=verdict[0],
        verdict=verdict[1],
    )


def _room(of: _Measure) -> tuple[str, str]:
    """Whether the crews can give it."""
    if not of.gives:
        return ("state-bad", "nobody can") if of.after else ("state-off", "none asked for")
    share = of.after / of.gives
    words = f"{decimals(100 * share, 0)}% of what the crews can give"
    return ("state-bad", f"{words}: more than there is") if share > 1 else ("state-good", words)


def _odds(chance: float | None) -> tuple[str, str]:
    if chance is None:
        return "state-off", "no budget set"
    state = "state-good" if chance < LITTLE_CHANCE else "state-wait" if chance < EVEN_CHANCE else "state-bad"
    return state, f"{decimals(100 * chance, 0)}% chance of more than the budget"


def _percent(part: float, whole: float) -> float:
    return round(100 * part / whole, 2)


def _whole(value: float) -> str:
    return decimals(value, 0)


def _money(value: float) -> str:
    return f"${decimals(value, 0)}"
