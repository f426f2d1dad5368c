"""A calculation as people do it on paper: what was entered, each formula with the figures filled in, the answers.

The sheets are in sheets.py. Each figure on a sheet can be made again with a pencil from the line it stands on.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from estimating.errors import InvalidFact

FIGURES_SHOWN = 4
Given = float | str
Asked = Mapping[str, Given | None]


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One thing to enter: a number of `unit` from `low` to `high`, or one of `words` (word -> what people read).

    `needed`: it has to be there. `usual` is what a form starts with, and what stands in where an entry is left out.
    """

    name: str
    label: str
    unit: str = ""
    low: float = 0.0
    high: float = 0.0
    whole: bool = False
    words: Mapping[str, str] = field(default_factory=dict)
    needed: bool = True
    usual: Given | None = None
    help: str = ""


@dataclass(frozen=True)
class Line:
    """One line of the working: what is found, its formula in words, the same with the figures, and the result."""

    what: str
    formula: str
    filled: str
    result: str


@dataclass(frozen=True)
class Answer:
    """An answer in US units and in metric ones; `metric` None where there is no other way to say it."""

    name: str
    label: str
    value: float
    unit: str
    metric: float | None = None
    metric_unit: str = ""

    @property
    def text(self) -> str:
        """As it is shown, with its unit."""
        return _with_unit(self.value, self.unit)

    @property
    def metric_text(self) -> str:
        """The same in metric units; empty where there is none."""
        return "" if self.metric is None else _with_unit(self.metric, self.metric_unit)


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A filled-in sheet. `refusal`: why the work must not be done as entered; then there is nothing to mix."""

    answers: tuple[Answer, ...]
    working: tuple[Line, ...]
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    steps: tuple[str, ...] = ()
    refusal: str = ""

    def answer(self, name: str) -> Answer:
        """An answer by its name."""
        return next(found for found in self.answers if found.name == name)


def shown(value: float) -> str:
    """Four figures, as a pencil would write them: 65.34, 0.1563, 1,089."""
    if value == 0:
        return "0"
    decimals = max(0, FIGURES_SHOWN - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def typed(value: float) -> str:
    """A figure that was entered, as it was entered."""
    return f"{value:.10g}"


def carried(value: float) -> str:
    """A figure on its way to the next line: with two figures more, so that the next line comes out as shown."""
    return f"{value:.6g}"


def _with_unit(value: float, unit: str) -> str:
    return f"{shown(value)} {unit}".strip()


def number(asked: Asked, name: str) -> float:
    """A number that has to be there."""
    value = asked.get(name)
    if value is None:
        raise InvalidFact("is needed for this", name)
    assert not isinstance(value, str)
    return value


def number_or(asked: Asked, name: str, usual: float) -> float:
    """A number, or what stands in for it."""
    return usual if asked.get(name) is None else number(asked, name)


def word(asked: Asked, name: str) -> str:
    """One of an entry's words."""
    value = asked.get(name)
    if not isinstance(value, str):
        raise InvalidFact("is needed for this", name)
    return value
