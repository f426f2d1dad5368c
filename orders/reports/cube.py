"""Planned and actual cost, cut by any dimensions at once. Every cut sums the same rows, so every total is the same.

The database groups each side once; whom a row's ids and codes name is looked up once a dimension. So the number of
queries does not grow with the rows.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import F, Model, Q, Sum, Value
from django.db.models.functions import TruncMonth

from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.costs.models import CATEGORIES, Award, Commitment, CostRow, Fund, LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.crews.models import PERSON_TYPES
from orders.estimates.models import Method
from orders.reports.asking import WRONG, Asked
from orders.sites.models import Species


@dataclass(frozen=True)
class Dimension:
    """`fields` of the rows make a key; a row that has nothing in the last of them is told by `none`."""

    code: str
    heading: str
    fields: tuple[str, ...]
    none: str


DIMENSIONS = {
    dimension.code: dimension
    for dimension in (
        Dimension("fund", "Fund", ("fund_id",), "No fund"),
        Dimension("award", "Award", ("award_id",), "No award"),
        Dimension("order", "Work order", ("order_number",), "No order"),
        Dimension("site", "Site", ("site_code",), "No site"),
        Dimension("patch", "Patch", ("site_code", "patch_code"), "No patch"),
        Dimension("method", "Method", ("method_code",), "No method"),
        Dimension("species", "Species", ("species_code",), "No species"),
        Dimension("crew", "Crew", ("crew_name",), "No crew"),
        Dimension("person_type", "Kind of person", ("person_type",), "No person"),
        Dimension("category", "Category", ("category",), "No category"),
        Dimension("month", "Month", ("posting_month",), "No month"),
    )
}
MOST_DIMENSIONS = 2

Keys = tuple[str, ...]
LABOR_MINUTES = Q(category="labor", unit="min")


@dataclass(frozen=True)
class Figures:
    planned_cents: int = 0
    actual_cents: int = 0
    planned_minutes: int = 0
    actual_minutes: int = 0

    @property
    def difference_cents(self) -> int:
        return self.actual_cents - self.planned_cents

    def __add__(self, other: "Figures") -> "Figures":
        return Figures(
            self.planned_cents + other.planned_cents,
            self.actual_cents + other.actual_cents,
            self.planned_minutes + other.planned_minutes,
            self.actual_minutes + other.actual_minutes,
        )


@dataclass(frozen=True)
class Cube:
    """`cells` by their keys, one for each dimension, in the order of the keys. An empty key: the rows have none."""

    dimensions: tuple[Dimension, ...]
    cells: Mapping[Keys, Figures]

    @property
    def total(self) -> Figures:
        return sum(self.cells.values(), Figures())

    def along(self, place: int) -> dict[str, Figures]:
        """The sums of one dimension's keys over the other, in the order of the keys."""
        sums: dict[str, Figures] = {}
        for keys in sorted(self.cells, key=lambda keys: _in_order(self.dimensions[place], keys[place])):
            sums[keys[place]] = sums.get(keys[place], Figures()) + self.cells[keys]
        return sums


def cost_cube(*, actor: User, asked: Asked, by: Sequence[str]) -> Cube:
    """`by`: one dimension, or two."""
    costs_open_to(actor)
    dimensions = dimensions_named(by)
    known = {name: names for dimension in dimensions for name, names in _ids(dimension).items()}
    cells: dict[Keys, Figures] = {}
    for model in (Commitment, LedgerEntry):
        for raw, cents, minutes in _sums(model, dimensions, asked):
            keys = _keys(dimensions, raw, known)
            found = Figures(cents, 0, minutes, 0) if model is Commitment else Figures(0, cents, 0, minutes)
            cells[keys] = cells.get(keys, Figures()) + found
    ordered = sorted(cells, key=lambda keys: [_in_order(*pair) for pair in zip(dimensions, keys, strict=True)])
    return Cube(dimensions, {keys: cells[keys] for keys in ordered})


def dimensions_named(by: Sequence[str]) -> tuple[Dimension, ...]:
    wrong = [name for name in by if name not in DIMENSIONS]
    if wrong:
        errors = [FieldError("by", f"must be one of {', '.join(DIMENSIONS)}") for _ in wrong]
        raise Invalid("The report cannot be cut that way.", errors)
    if len(set(by)) < len(by) or not 1 <= len(by) <= MOST_DIMENSIONS:
        raise Invalid(WRONG, [FieldError("and", "must be another cut than the first")])
    return tuple(DIMENSIONS[name] for name in by)


def field_of(model: type[CostRow], name: str, basis: str) -> Any:
    """What a row of either kind says in a dimension's field."""
    if name == "person_type" and model is Commitment:
        return Value("")  # what is planned names no person
    if name == "posting_month" and basis == "worked":
        return TruncMonth("work_date")
    return F(name)


def rows_asked(model: type[CostRow], asked: Asked) -> dict[str, Any]:
    """Of the ledger, what cost: settlements and in-kind match are other books."""
    return asked.where() | ({"book": "cost"} if model is LedgerEntry else {})


def _sums(
    model: type[CostRow], dimensions: Sequence[Dimension], asked: Asked
) -> Iterable[tuple[tuple[Any, ...], int, int]]:
    fields = [name for dimension in dimensions for name in dimension.fields]
    keyed = {f"key_{number}": field_of(model, name, asked.basis) for number, name in enumerate(fields)}
    minutes = Sum("minutes") if model is Commitment else Sum("quantity", filter=LABOR_MINUTES)
    return _grouped(model, keyed, minutes, asked)


def keyed_sums(
    model: type[CostRow], dimension: Dimension, beside: Sequence[str], asked: Asked
) -> Iterable[tuple[str, tuple[Any, ...], int, int]]:
    """The key of one dimension, what stands in the fields beside it, cents, and the amount that the cost is measured
    in: minutes of labor, microliters of product."""
    keyed = {f"key_{number}": field_of(model, name, asked.basis) for number, name in enumerate(dimension.fields)}
    keyed |= {f"beside_{number}": F(name) for number, name in enumerate(beside)}
    measured = LABOR_MINUTES | Q(category="material", unit="uL")
    amount = Sum("minutes") if model is Commitment else Sum("quantity", filter=measured)
    known = _ids(dimension)
    found = _grouped(model, keyed, amount, asked)
    ready = [
        (_keys([dimension], raw, known)[0], raw[len(dimension.fields) :], cents, much) for raw, cents, much in found
    ]
    return sorted(ready, key=lambda row: _in_order(dimension, row[0]))


def _grouped(
    model: type[CostRow], keyed: Mapping[str, Any], amount: Any, asked: Asked
) -> Iterable[tuple[tuple[Any, ...], int, int]]:
    rows = model._default_manager.filter(**rows_asked(model, asked)).order_by().annotate(**keyed)
    for *raw, cents, much in rows.values_list(*keyed).annotate(cents=Sum("amount_cents"), much=amount):
        yield tuple(raw), int(cents or 0), int(much or 0)


def _ids(dimension: Dimension) -> dict[str, dict[int, str]]:
    """The codes of what rows name by an id."""
    models: dict[str, type[Model]] = {"fund_id": Fund, "award_id": Award}
    named = {name: models[name] for name in dimension.fields if name in models}
    return {name: dict(model._default_manager.values_list("pk", "code")) for name, model in named.items()}


def _keys(dimensions: Sequence[Dimension], raw: Sequence[Any], known: Mapping[str, Mapping[int, str]]) -> Keys:
    left = iter(raw)
    return tuple(_key([_text(next(left), known.get(name)) for name in dimension.fields]) for dimension in dimensions)


def _text(value: Any, codes: Mapping[int, str] | None) -> str:
    if value is None:
        return ""
    if isinstance(value, date):
        return f"{value:%Y-%m}"
    return codes[value] if codes is not None else str(value)


def _key(parts: list[str]) -> str:
    """A patch is told with its site; what is for no patch is one heap, whatever its site."""
    return " ".join(parts) if parts[-1] else ""


def _in_order(dimension: Dimension, key: str) -> tuple[bool, int, str]:
    """Numbers by size, and what has no key last."""
    return (not key, int(key) if dimension.code == "order" and key else 0, key)


def names_of(dimension: Dimension) -> dict[str, str]:
    """What keys are called, where that is more than the key itself."""
    called: dict[str, Any] = {
        "method": lambda: Method.objects.values_list("code", "name"),
        "species": lambda: Species.objects.values_list("code", "common_name"),
        "category": lambda: CATEGORIES,
        "person_type": lambda: PERSON_TYPES,
    }
    names = dict(called[dimension.code]()) if dimension.code in called else {}
    return names | {"": dimension.none}
