"""Which methods the crews of a season can do at a site at all, and what stands in where what is recommended cannot be
done: a season goes on without a license or a mix, by hand and machine."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from estimating.columns import BoolArray
from orders.crews.selectors import qualifications_between, stays
from orders.estimates.models import Method
from orders.planning.models import Season
from orders.planning.overview import Overview, PatchLine
from orders.planning.recommending import methods_recommended
from orders.sites.models import Site


@dataclass(frozen=True)
class Doable:
    """What stands against a method at a site for the whole of a season; days are the plan's."""

    season: Season
    methods: Mapping[str, Method]

    @cached_property
    def _held(self) -> frozenset[tuple[int, int | None]]:
        """Kinds of license that somebody on a crew holds in the season, and where; None is everywhere."""
        first, last = self.season.first_day, self.season.last_day
        on_crews = set(stays(first, last).order_by().values_list("person_id", flat=True))
        held = qualifications_between(first, last).filter(person__in=on_crews)
        return frozenset(held.order_by().values_list("kind_id", "jurisdiction_id"))

    def why_not(self, code: str, site: Site) -> str:
        """Empty where nothing stands against it."""
        method = self.methods[code]
        if method.uses_herbicide and method.default_mix_id is None:
            return f"{method.name.capitalize()} has no mix yet."
        kind = method.qualification
        if kind is None or self._held & {(kind.pk, None), (kind.pk, site.jurisdiction_id)}:
            return ""
        return f"{method.name.capitalize()}: nobody on a crew holds {kind} there in {self.season}."

    def _stands_in(self, code: str, site: Site) -> bool:
        method = self.methods[code]
        return method.is_active and not method.uses_herbicide and not self.why_not(code, site)

    def offered(self, found: Overview) -> BoolArray:
        """Methods [component, method] without herbicide that can be done at the patch's site."""
        codes = found.suited.methods.codes
        rows = {site.pk: self._row(codes, site) for site in (line.patch.site for line in found.lines)}
        by_patch = np.array([rows[line.patch.site_id] for line in found.lines], dtype=bool).reshape(-1, len(codes))
        return np.asarray(by_patch[found.suited.site.components.patch_index], dtype=bool)

    def _row(self, codes: Iterable[str], site: Site) -> list[bool]:
        return [self._stands_in(code, site) for code in codes]


@dataclass(frozen=True)
class StandIns:
    """By the row of a patch what is done there without herbicide, each with its reason; only where something that is
    recommended cannot be done."""

    doable: Doable
    found: Overview

    @cached_property
    def _best(self) -> Mapping[int, Mapping[str, str]]:
        surveys = [line.survey for line in self.found.lines]
        best: dict[int, dict[str, str]] = {}
        for (row, code), why in methods_recommended(surveys, self.found.suited.among(self._offered)).items():
            best.setdefault(row, {})[code] = why
        return best

    @cached_property
    def _offered(self) -> BoolArray:
        return self.doable.offered(self.found)

    def hindered(self, line: PatchLine) -> str:
        """Why something that is recommended on the patch cannot be done; empty where all of it can."""
        told = (self.doable.why_not(code, line.patch.site) for code in line.recommended)
        return next(filter(None, told), "")

    def codes(self, line: PatchLine) -> Mapping[str, str]:
        because = self.hindered(line)
        return {code: f"{because} {why}" for code, why in self._best.get(line.row, {}).items()} if because else {}
