"""Jobs of an estimate opened again, method by method, and their figures as plain values.

Every figure is worked out for all jobs of a method at once and turned into a Python list once: opening a thousand jobs
one by one would spend nearly all its time on arrays of a single value.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from estimating.amounts import Materials
from estimating.columns import FloatArray, IntArray
from estimating.crewday import PaidTime
from estimating.effort import Effort, MixFigures, PairSet, Volumes, method_effort, searched_m2, spray_volumes
from estimating.estimate import EstimateResult, mix_figures
from estimating.ground import Ground


def plain(value: Any) -> Any:
    """A number as JSON knows it: a missing or infinite number becomes None."""
    return listed(np.asarray(value).reshape(1))[0]


def listed(values: npt.NDArray[Any]) -> list[Any]:
    """A column as plain numbers; see `plain`."""
    found: list[Any] = values.tolist()
    if values.dtype.kind != "f" or np.isfinite(values).all():
        return found
    return [number if known else None for number, known in zip(found, np.isfinite(values).tolist(), strict=True)]


def records(count: int, **columns: Any) -> list[dict[str, Any]]:
    """Rows of named plain values; a column is an array [row], a list [row], or one number that all rows share."""
    lists = [_column(count, values) for values in columns.values()]
    return [dict(zip(columns, row, strict=True)) for row in zip(*lists, strict=True)]


def _column(count: int, values: Any) -> list[Any]:
    if isinstance(values, list):
        return values
    return listed(values) if isinstance(values, np.ndarray) and values.ndim else [plain(values)] * count


@contextmanager
def many_values() -> Iterator[None]:
    """While very many plain values are made, none of them in a cycle, Python need not look for cycles among them.

    It would look again each time their number has grown by a quarter, which took longer than making them.
    """
    looks = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if looks:
            gc.enable()


@dataclass(frozen=True)
class OpenedJobs:
    """Jobs of one method: `ground` holds one patch a job and one component a pair, the pairs of a job side by side.

    `rows`: the jobs' rows in the result; `ends`: where the pairs of each job end, after a leading 0.
    """

    result: EstimateResult
    method: str
    rows: IntArray
    ground: Ground
    pairs: PairSet
    mix: MixFigures
    volumes: Volumes
    effort: Effort
    ends: list[int]

    def __len__(self) -> int:
        return len(self.rows)

    @cached_property
    def ok(self) -> list[bool]:
        """Whether each job has figures."""
        return listed(self.result.ok[self.rows])

    @cached_property
    def mix_index(self) -> list[int]:
        """Row of each job's mix, -1 for none."""
        return listed(self.result.jobs.mix[self.rows])

    @cached_property
    def time(self) -> PaidTime:
        """Paid time of these jobs."""
        return PaidTime(**{name: values[self.rows] for name, values in vars(self.result.time).items()})

    @cached_property
    def materials(self) -> Materials:
        """Materials of these jobs."""
        found = self.result.materials
        single = {name: values[self.rows] for name, values in vars(found).items() if name != "product_l"}
        products = {code: litres[self.rows] for code, litres in found.product_l.items()}
        return Materials(product_l=products, **single)

    def spans(self) -> Iterator[tuple[int, int]]:
        """First pair of each job, and the one after its last."""
        return zip(self.ends, self.ends[1:], strict=False)


def open_jobs(result: EstimateResult, jobs: IntArray) -> Iterator[tuple[IntArray, OpenedJobs]]:
    """The jobs by method, each time with their places in `jobs`."""
    inputs = result.inputs
    search_m2 = searched_m2(Ground(inputs.patches, inputs.components, inputs.rate_book), inputs.jobs)
    pairs = _PairsOfJobs(inputs.jobs.pair_job, inputs.jobs.pair_component, jobs)
    method_index = inputs.jobs.method_index[jobs]
    for number in np.unique(method_index).tolist():
        places = np.flatnonzero(method_index == number)
        rows = jobs[places]
        yield places, _opened(result, inputs.jobs.methods[number], rows, search_m2[rows], *pairs.of(rows))


class _PairsOfJobs:
    """The components that some of the jobs treat, in the order in which the pairs list them."""

    def __init__(self, pair_job: IntArray, pair_component: IntArray, jobs: IntArray) -> None:
        chosen = np.flatnonzero(np.isin(pair_job, jobs))
        chosen = chosen[np.argsort(pair_job[chosen], kind="stable")]
        self.job, self.component = pair_job[chosen], pair_component[chosen]

    def of(self, rows: IntArray) -> tuple[IntArray, IntArray]:
        """How many components each job treats, and all of them, job after job."""
        first = np.searchsorted(self.job, rows, side="left")
        count = np.searchsorted(self.job, rows, side="right") - first
        within = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
        return count, self.component[np.repeat(first, count) + within]


def _opened(
    result: EstimateResult, method: str, rows: IntArray, search_m2: FloatArray, count: IntArray, component: IntArray
) -> OpenedJobs:
    inputs, local = result.inputs, np.arange(len(rows))
    job = np.repeat(local, count)
    species = tuple(inputs.components.species[row] for row in component.tolist())
    components = inputs.components.take(component, patch_index=job, species=species)
    ground = Ground(inputs.patches.take(inputs.jobs.patch_index[rows]), components, inputs.rate_book)
    pairs = PairSet(method, local, local, search_m2, job, None)
    mix = mix_figures(inputs.jobs, rows, method, inputs.mixes, inputs.rate_book)
    volumes = spray_volumes(ground, pairs, mix, inputs.rate_book.treats(method))
    effort = method_effort(ground, pairs, volumes)
    return OpenedJobs(result, method, rows, ground, pairs, mix, volumes, effort, [0, *np.cumsum(count).tolist()])
