"""Frozen inputs and results as plain values for JSON, and back, with a version and kept upgrade steps.

Every dataclass that may be frozen is named in KINDS. What JSON has no word for is wrapped in a dict with one key that
begins with "$": arrays, tuples, sets, dates, members of the enums, numbers that are not finite, and nested dataclasses.
"""

import dataclasses
import math
from collections.abc import Callable, Mapping
from datetime import date
from enum import Enum
from typing import Any

import numpy as np

from estimating import (
    amounts,
    crewday,
    effort,
    estimate,
    inputs,
    labels,
    materials,
    methods,
    money,
    pace,
    plan,
    rate_book,
    rate_rows,
    timing,
)
from estimating import spread as spreads
from estimating.columns import Known
from estimating.errors import InvalidFact, UnknownCode

VERSION = 1

# Steps from a payload's version to the next, kept for as long as payloads of that version may exist.
UPGRADES: Mapping[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}

KINDS: Mapping[str, type[Any]] = {
    kind.__name__: kind
    for kind in (
        inputs.PatchFacts,
        inputs.ComponentFacts,
        inputs.Jobs,
        inputs.CrewDay,
        inputs.Prices,
        rate_rows.RateRow,
        rate_book.RateBook,
        methods.Method,
        methods.MethodTable,
        materials.Mix,
        materials.MixPart,
        estimate.EstimateInputs,
        estimate.EstimateResult,
        amounts.Materials,
        pace.Pace,
        money.Money,
        crewday.PaidTime,
        effort.MethodBlock,
        spreads.Range,
        spreads.SeasonFit,
        labels.ProductLabel,
        labels.Cap,
        labels.WeatherLimit,
        labels.Application,
        labels.Counted,
        labels.GuardPolicy,
        labels.Finding,
        timing.CalendarDay,
        timing.SeasonCalendar,
        timing.Margins,
        timing.Closure,
        timing.Window,
        timing.WindowReport,
        timing.TimingFacts,
        timing.SeedFacts,
        timing.SeedDeadline,
        plan.VisitNeed,
        plan.CrewSupply,
        plan.PlanInput,
        plan.Plan,
        plan.Assignment,
        plan.LeftOut,
        plan.Chain,
        plan.FundUse,
    )
}
ENUMS: Mapping[str, type[Enum]] = {"Known": Known, "LimitKind": labels.LimitKind}


def _pack_array(array: np.ndarray[Any, Any]) -> dict[str, Any]:
    values = array.ravel().tolist()
    if np.issubdtype(array.dtype, np.floating):
        values = [None if math.isnan(value) else value for value in values]
    return {"$array": array.dtype.name, "shape": list(array.shape), "values": values}


def _unpack_array(packed: Mapping[str, Any]) -> np.ndarray[Any, Any]:
    values = [math.nan if value is None else value for value in packed["values"]]
    array = np.array(values, dtype=packed["$array"]).reshape(packed["shape"])
    array.setflags(write=False)
    return array


def _pack_float(value: float) -> Any:
    return value if math.isfinite(value) else {"$number": str(value)}


def _pack_record(value: Any) -> dict[str, Any]:
    kind = type(value).__name__
    if kind not in KINDS:
        raise UnknownCode(f"{kind} has no place in a payload", "kind")
    fields = {field.name: pack(getattr(value, field.name)) for field in dataclasses.fields(value) if field.init}
    return {"$kind": kind, "fields": fields}


def _pack_mapping(value: Mapping[Any, Any]) -> dict[str, Any]:
    if any(not isinstance(key, str) or key.startswith("$") for key in value):
        raise InvalidFact("keys must be text that does not begin with $", "payload")
    return {key: pack(entry) for key, entry in value.items()}


# First match wins: members of enums are numbers or text too.
PACKERS: tuple[tuple[tuple[type[Any], ...], Callable[[Any], Any]], ...] = (
    ((Enum,), lambda value: {"$enum": type(value).__name__, "value": value.value}),
    ((bool, int, str, type(None)), lambda value: value),
    ((float,), _pack_float),
    ((np.ndarray,), _pack_array),
    ((np.generic,), lambda value: pack(value.item())),
    ((date,), lambda value: {"$date": value.isoformat()}),
    ((tuple,), lambda value: {"$tuple": [pack(entry) for entry in value]}),
    ((list,), lambda value: [pack(entry) for entry in value]),
    ((frozenset, set), lambda value: {"$set": sorted((pack(entry) for entry in value), key=repr)}),
    ((Mapping,), _pack_mapping),
)


def pack(value: Any) -> Any:
    """Any value of a frozen dataclass as plain JSON values."""
    for kinds, packer in PACKERS:
        if isinstance(value, kinds):
            return packer(value)
    if dataclasses.is_dataclass(value):
        return _pack_record(value)
    raise UnknownCode(f"{type(value).__name__} has no place in a payload", "payload")


def _unpack_record(packed: Mapping[str, Any]) -> Any:
    kind = packed["$kind"]
    if kind not in KINDS:
        raise UnknownCode(f"unknown kind {kind!r}", "kind")
    fields = {name: unpack(value) for name, value in packed["fields"].items()}
    return KINDS[kind](**fields)


UNPACKERS: Mapping[str, Callable[[Mapping[str, Any]], Any]] = {
    "$enum": lambda packed: ENUMS[packed["$enum"]](packed["value"]),
    "$number": lambda packed: float(packed["$number"]),
    "$array": _unpack_array,
    "$date": lambda packed: date.fromisoformat(packed["$date"]),
    "$tuple": lambda packed: tuple(unpack(entry) for entry in packed["$tuple"]),
    "$set": lambda packed: frozenset(unpack(entry) for entry in packed["$set"]),
    "$kind": _unpack_record,
}


def unpack(packed: Any) -> Any:
    """The value that `pack` made plain."""
    if isinstance(packed, list):
        return [unpack(entry) for entry in packed]
    if not isinstance(packed, Mapping):
        return packed
    marker = next((key for key in packed if key.startswith("$")), None)
    if marker is None:
        return {key: unpack(value) for key, value in packed.items()}
    if marker not in UNPACKERS:
        raise UnknownCode(f"unknown wrapping {marker!r}", "payload")
    return UNPACKERS[marker](packed)


def to_payload(value: Any) -> dict[str, Any]:
    """A frozen dataclass as a JSON-able dict with its version."""
    return {"version": VERSION, "content": pack(value)}


def from_payload(payload: Mapping[str, Any]) -> Any:
    """The dataclass a payload holds, brought to the current version first; validated again as it is built."""
    version = payload.get("version")
    if not isinstance(version, int) or not 1 <= version <= VERSION:
        raise InvalidFact(f"cannot read payload version {version!r}; this program knows 1 to {VERSION}", "version")
    current = dict(payload)
    for step in range(version, VERSION):
        current = UPGRADES[step](current)
    return unpack(current["content"])
