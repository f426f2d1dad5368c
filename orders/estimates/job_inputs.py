"""What an estimate depends on, as it is kept with it; and the fingerprint of that."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Container, Mapping
from dataclasses import asdict
from functools import cached_property
from typing import Any

import numpy as np

from estimating.estimate import EstimateInputs
from orders.estimates.convert import INPUTS_VERSION
from orders.estimates.models import RateBook
from orders.sites.models import Survey

Plain = dict[str, Any]


class FrozenInputs:
    """The inputs of single jobs of one estimate, as plain values.

    What several jobs depend on (patch, components, mix, day, prices) is made plain once, and the same objects stand in
    the inputs of all of them: they are there to be stored or compared, not to be changed.
    """

    def __init__(self, asked: EstimateInputs, book: RateBook) -> None:
        self.asked = asked
        self.prices = JobPrices(asked)
        self._day = asdict(asked.crew_day)
        self._mixes = [asdict(mix) for mix in asked.mixes]
        self._patches: dict[int, Plain] = {}
        self._components: dict[int, Plain] = {}
        self._book = {
            "name": book.name,
            "edition": book.edition,
            "id": str(book.public_id),
            "crew_kind": book.crew_kind,
        }

    @cached_property
    def _treated(self) -> Mapping[int, list[int]]:
        found: dict[int, list[int]] = defaultdict(list)
        jobs = self.asked.jobs
        for job, component in zip(jobs.pair_job.tolist(), jobs.pair_component.tolist(), strict=True):
            found[job].append(component)
        return found

    def components(self, job: int) -> list[int]:
        """Rows of the components that a job treats."""
        return self._treated.get(job, [])

    def of(self, job: int) -> Plain:
        """What one estimate depends on; the rates themselves are those of the named book, which never change."""
        jobs = self.asked.jobs
        mix = int(jobs.mix[job])
        return {
            "version": INPUTS_VERSION,
            "patch": self._patch(int(jobs.patch_index[job])),
            "components": [self._component(row) for row in self.components(job)],
            "method": jobs.methods[int(jobs.method_index[job])],
            "mix": self._mixes[mix] if mix >= 0 else None,
            "crew_day": self._day,
            "prices": self.prices.of(job),
            "rate_book": self._book,
        }

    def _patch(self, row: int) -> Plain:
        if row not in self._patches:
            self._patches[row] = _plain(self.asked.patches.row(row))
        return self._patches[row]

    def _component(self, row: int) -> Plain:
        if row not in self._components:
            facts = self.asked.components
            self._components[row] = {"species": facts.species[row], **_plain(facts.row(row))}
        return self._components[row]


class JobPrices:
    """The prices that a job can use: of its method, the products of its mix, and the roles of its crew and skills.

    So an estimate does not go stale by the price of something else.
    """

    def __init__(self, asked: EstimateInputs) -> None:
        self.asked = asked
        self._listed = asdict(asked.prices)
        self._roles = {*asked.crew_day.people, *asked.prices.skill_role.values()}
        self._found: dict[tuple[int, int], Plain] = {}

    def of(self, job: int) -> Plain:
        """By name of the price; jobs of one method and mix use the same ones."""
        jobs = self.asked.jobs
        key = int(jobs.method_index[job]), int(jobs.mix[job])
        if key not in self._found:
            self._found[key] = self._used(*key)
        return self._found[key]

    def _used(self, method_index: int, mix: int) -> Plain:
        method = self.asked.jobs.methods[method_index]
        products = {part.product for part in self.asked.mixes[mix].parts} if mix >= 0 else set()
        used: dict[str, Container[str]] = {
            "role_rate_e4_per_hour": self._roles,
            "product_e4_per_l": products,
            "product_source": products,
            "equipment_e4_per_hour": {method},
            "contract_e4_per_ha": {method},
            "contract_minimum_e4": {method},
        }
        listed = self._listed
        kept = {name: {code: value for code, value in listed[name].items() if code in used[name]} for name in used}
        return {**listed, **kept}


def _plain(row: Mapping[str, Any]) -> dict[str, Any]:
    """JSON has no NaN: what was not observed is null. The index within this run means nothing later."""
    return {name: _no_nan(value) for name, value in row.items() if name != "patch_index"}


def _no_nan(value: Any) -> Any:
    if isinstance(value, list):
        return [_no_nan(item) for item in value]
    return None if isinstance(value, float) and np.isnan(value) else value


def fingerprint_of(survey: Survey, inputs: Mapping[str, Any]) -> str:
    """Of all that an estimate depends on: the same fingerprint, the same estimate."""
    return fingerprint({"survey": survey.fingerprint, **inputs})


def fingerprint(inputs: Mapping[str, Any]) -> str:
    canonical = json.dumps(inputs, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(canonical.encode()).hexdigest()
