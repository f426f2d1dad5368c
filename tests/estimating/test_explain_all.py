"""Many jobs are explained together as each would be alone."""

import dataclasses
import gc

import numpy as np
import pytest

from estimating.explain import explain, explain_all
from estimating.inputs import Jobs
from tests.benchmarks import made
from tests.estimating import make
from tests.estimating.alike import alike

PATCHES = 6


@pytest.fixture(scope="module")
def mixed():
    """Jobs in no order, with other mixes within a method, part of the components, and outings."""
    case, random = made.case(PATCHES), np.random.default_rng(7)
    jobs, count = case.jobs, len(case.jobs)
    shuffled = random.permutation(count)
    place = np.argsort(shuffled)
    pairs = random.permutation(np.flatnonzero(random.random(len(jobs.pair_job)) < 0.8))
    other = Jobs(
        ids=tuple(jobs.ids[row] for row in shuffled),
        methods=jobs.methods,
        patch_index=jobs.patch_index[shuffled],
        method_index=jobs.method_index[shuffled],
        mix=random.integers(-1, len(case.mixes), count),
        outing=random.integers(-1, 3, count),
        pair_job=place[jobs.pair_job[pairs]],
        pair_component=jobs.pair_component[pairs],
    )
    return dataclasses.replace(case, jobs=other).estimate()


def _parts(value):
    """All dicts and lists within a value."""
    if isinstance(value, dict | list):
        yield value
        for inner in value.values() if isinstance(value, dict) else value:
            yield from _parts(inner)


def test_it_explains_jobs_together_as_alone(mixed):
    together = explain_all(mixed, range(len(mixed.jobs)))
    assert [shown["job"] for shown in together] == list(mixed.jobs.ids)
    assert [shown["job"] for job, shown in enumerate(together) if not alike(shown, explain(mixed, job))] == []


def test_it_keeps_the_order_asked_for(mixed):
    asked = [31, 2, 17, 2]
    found = explain_all(mixed, asked)
    assert [shown["job"] for shown in found] == [mixed.jobs.ids[job] for job in asked]
    assert alike(found[1], found[3])


def test_it_explains_nothing_where_nothing_is_asked(mixed):
    assert explain_all(mixed, []) == []


def test_it_shares_nothing_between_jobs(mixed):
    parts = list(_parts(explain_all(mixed, range(len(mixed.jobs)))))
    assert len({id(part) for part in parts}) == len(parts) > 1000


def test_it_knows_no_job_beyond_the_last(mixed):
    with pytest.raises(IndexError):
        explain(mixed, len(mixed.jobs))


def test_it_leaves_the_search_for_cycles_as_it_was(mixed):
    with pytest.raises(IndexError):
        explain(mixed, len(mixed.jobs))
    assert gc.isenabled()
    gc.disable()
    try:
        explain(mixed, 0)
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_it_computes_again_what_was_frozen_without_its_pace():
    result = make.estimated(make.patches(2), make.components([0, 1]))
    assert explain_all(dataclasses.replace(result, pace=None), [1]) == explain_all(result, [1])


def test_it_would_see_a_figure_that_differs():
    assert alike({"a": [1.0, "b"]}, {"a": [1.0 + 1e-15, "b"]})
    assert not alike({"a": [1.0]}, {"a": [1.0 + 1e-9]})
    assert not alike({"a": 1, "b": 2}, {"b": 2, "a": 1})
    assert not alike([1], [1.0])
