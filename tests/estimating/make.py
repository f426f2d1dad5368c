"""Small facts for the tests of the computation; all figures invented unless a test says otherwise."""

import csv
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from estimating.estimate import estimate
from estimating.inputs import GROWTH_FORMS, ComponentFacts, Jobs, PatchFacts, Prices, pair_all
from estimating.methods import methods_from_rows
from estimating.rate_book import rate_book_from_rows

REFERENCE = Path(__file__).resolve().parents[2] / "fixtures" / "reference"
PEOPLE = {"crew lead": 1, "crew member": 3}


def rows(name):
    with (REFERENCE / name).open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


@cache
def book():
    return rate_book_from_rows(rows("rate_book.csv"))


@cache
def methods():
    return methods_from_rows(rows("methods.csv"))


def rate(method, step, driver, value, unit, **more):
    row = {"kind": "rate", "method": method, "step": step, "driver": driver, "value": str(value), "unit": unit}
    return row | {"skill": "crew", "source": "invented"} | {name: str(entry) for name, entry in more.items()}


def figure(kind, step, value, unit="", **more):
    return {"kind": kind, "step": step, "value": str(value), "unit": unit, "source": "invented"} | more


SPREADS = {
    "cover_measured": 0.1,
    "cover_class": 0.2,
    "area_mapped": 0.05,
    "area_by_eye": 0.3,
    "stems_counted": 0.1,
    "stems_assumed": 0.5,
}


def tiny_book(*more):
    """A book simple enough to compute by hand: search 2 h/ha, pull 100 h/ha x cover^0.5, write up 30 minutes."""
    return rate_book_from_rows(
        [
            rate("pull", "search", "gross_area_m2", 2, "h/ha"),
            rate("pull", "pull", "infested_area_m2", 100, "h/ha", cover_exponent=0.5),
            rate("pull", "write up", "visit", 30, "min/visit"),
            figure("allowance", "maintenance_cover", 0.04),
            *(figure("spread", name, value) for name, value in SPREADS.items()),
            *more,
        ]
    )


def patches(count=1, **columns):
    given: dict[str, Any] = {"gross_area_m2": np.full(count, 10_000.0)}
    return PatchFacts(ids=tuple(f"patch {n}" for n in range(count)), **(given | columns))


def components(patch_index=(0,), form="ground cover", cover=0.25, infested_area_m2=10_000.0, **columns):
    count = len(patch_index)
    covers = np.broadcast_to(np.asarray(cover, float), (count,))
    forms = [form] * count if isinstance(form, str) else form
    given: dict[str, Any] = {
        "patch_index": patch_index,
        "growth_form": [GROWTH_FORMS.index(entry) for entry in forms],
        "infested_area_m2": np.broadcast_to(np.asarray(infested_area_m2, float), (count,)),
        "cover_low": covers,
        "cover_likely": covers,
        "cover_high": covers,
        "species": ["EUFO"] * count,
    }
    return ComponentFacts(ids=tuple(f"component {n}" for n in range(count)), **(given | columns))


def prices(**changed):
    given: dict[str, Any] = {
        "role_rate_e4_per_hour": {"crew lead": 360_000, "crew member": 280_000, "certified applicator": 400_000},
        "skill_role": {"crew": "crew member", "sawyer": "crew member", "applicator": "certified applicator"},
        "product_e4_per_l": {"blue label": 250_000, "spreader": 80_000, "dye": 120_000},
        "mileage_e4_per_mile": 7_250,
        "bag_e4": 9_000,
    }
    return Prices(**(given | changed))


def jobs(**columns):
    """Jobs of one patch by one method, unless told otherwise."""
    count = len(columns.get("ids", "a"))
    given: dict[str, Any] = {"ids": ["a"], "methods": ["pull"]}
    given |= {"patch_index": np.zeros(count, int), "method_index": np.zeros(count, int)}
    return Jobs(**(given | columns))


def estimated(patch_facts, component_facts, methods=("pull",), rate_book=None, jobs=None, mixes=(), **changed):
    """An estimate of all methods for all patches by the tiny book, unless told otherwise."""
    used = rate_book or tiny_book()
    day = changed.pop("crew_day", None) or book().crew_day(PEOPLE)
    return estimate(
        patch_facts,
        component_facts,
        pair_all(patch_facts, component_facts, methods) if jobs is None else jobs,
        used,
        day,
        changed.pop("prices", None) or prices(),
        mixes,
    )
