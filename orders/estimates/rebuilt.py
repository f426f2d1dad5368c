"""An estimate's frozen inputs as the facts that estimating reads, so that it can be computed again without its rows."""

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

import numpy as np

from estimating.columns import Table
from estimating.estimate import EstimateInputs
from estimating.inputs import ComponentFacts, CrewDay, Jobs, PatchFacts, Prices
from estimating.materials import Mix, MixPart
from orders.common.errors import WrongState
from orders.estimates import convert
from orders.estimates.models import Estimate

NOT_KEPT = "The facts that this estimate was made from were not kept, so nothing can be tried with it. Estimate again."


def inputs_rebuilt(estimate: Estimate) -> EstimateInputs:
    """What the estimate was made from: its frozen facts, crew day, prices and mix, and its rate book's rows."""
    if "patch" not in estimate.inputs:
        raise WrongState(NOT_KEPT)
    stored = convert.inputs_read(estimate.inputs)
    mixes = (mix_rebuilt(stored["mix"]),) if stored["mix"] else ()
    components = stored["components"]
    return EstimateInputs(
        patches=PatchFacts(**_columns(PatchFacts, [stored["patch"]])),
        components=ComponentFacts(
            **_columns(ComponentFacts, components),
            species=tuple(row["species"] for row in components),
            patch_index=np.zeros(len(components), np.int64),
        ),
        jobs=_job(f"{stored['patch']['id']}: {estimate.method.name}", stored["method"], len(mixes), len(components)),
        rate_book=convert.rates(estimate.rate_book),
        crew_day=CrewDay(**stored["crew_day"]),
        prices=Prices(**stored["prices"]),
        mixes=mixes,
    )


def _columns(table: type[Table], rows: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Columns of a table, null where nothing was observed; one that was not known then is left to its default."""
    names = [field.name for field in fields(table) if "column" in field.metadata]
    kept = [name for name in names if all(name in row for row in rows)]
    columns: dict[str, Any] = {name: [row[name] for row in rows] for name in kept if name != "patch_index"}
    if "stems" in columns:  # null within a row of several
        columns["stems"] = np.array(columns["stems"], dtype=float)
    return columns | {"ids": tuple(row["id"] for row in rows)}


def mix_rebuilt(stored: Mapping[str, Any]) -> Mix:
    return Mix(**{**stored, "parts": tuple(MixPart(**part) for part in stored["parts"])})


def _job(name: str, method: str, mixes: int, components: int) -> Jobs:
    """One job that treats all the components kept with it."""
    return Jobs(
        ids=(name,),
        methods=(method,),
        patch_index=np.zeros(1, np.int64),
        method_index=np.zeros(1, np.int64),
        mix=np.full(1, mixes - 1, np.int64),
        pair_job=np.zeros(components, np.int64),
        pair_component=np.arange(components, dtype=np.int64),
    )
