"""Plans beside each other: each figure, and how far it is from the first plan's, in words."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from orders.desk.charts_paper import MINUS
from orders.desk.templatetags.desk import money
from orders.desk.templatetags.units import area, decimals
from orders.planning.figures import PlanFigures


def compared(figures: Sequence[PlanFigures], names: Mapping[str, str]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Rows of the table: a figure, and for each plan its value and the difference to the first plan, in words."""
    listed: list[tuple[str, Callable[[Any], str], list[float]]] = [
        ("Ground treated", area, [one.area_m2 for one in figures]),
        ("Seed deadlines met", _whole, [one.deadlines_met for one in figures]),
        ("Seed deadlines owed", _whole, [one.deadlines_owed for one in figures]),
        ("Cost", money, [one.cost_cents for one in figures]),
        ("Person-hours", _whole, [one.person_hours for one in figures]),
        ("Crew visits", _whole, [one.visits for one in figures]),
        ("Pieces of work left out", _whole, [one.left_out for one in figures]),
    ]
    funds = sorted({fund for one in figures for fund in one.by_fund if fund})
    listed += [
        (f"Cost paid by {names.get(fund, fund)}", money, [one.by_fund.get(fund, 0) for one in figures])
        for fund in funds
    ]
    return [
        (name, [(words(value), _difference(words, value - values[0])) for value in values])
        for name, words, values in listed
    ]


def _whole(value: float) -> str:
    return decimals(value, 0)


def _difference(words: Callable[[Any], str], difference: float) -> str:
    """Empty where there is none."""
    return f"{'+' if difference > 0 else MINUS}{words(abs(difference))}" if difference else ""
