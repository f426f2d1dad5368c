"""Which methods fit each component, why, and the one to start from.

A method fits (yes), does not (no), or the survey must answer first (unknown). The recommendation follows fixed rules:

    at or below the target cover       watch it
    small or sparse                    pull with the roots
    climbing, sprawling, shrub         cut; treat the cuts where the plant sprouts again
    ground cover, widespread           spray evergreen leaves while natives are dormant, else mow
    herb, widespread                   cut before it sets fruit
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from estimating.columns import BoolArray, IntArray, Known, SmallArray
from estimating.inputs import CLIMBING, GROUND_COVER, HERB, SHRUB, SPRAWLING, ComponentFacts, PatchFacts
from estimating.methods import Method, MethodTable
from estimating.suitability_rules import RULES, Rule, Ruling, SiteView, SuitabilityLimits

NO_METHOD = -1
NO_COMPONENT = -1


@dataclass(frozen=True)
class Reason:
    """One rule's word on one method: `verdict` NO, UNKNOWN, or YES on the condition that the text names."""

    rule: str
    text: str
    source: str
    verdict: Known


@dataclass(frozen=True)
class Choice:
    """One line of the recommendation's rules: take `method` where `where` holds and the method fits."""

    method: str
    text: str
    where: BoolArray


def _choices(site: SiteView) -> list[Choice]:
    """The recommendation's rules, first come first served."""
    form = site.components.growth_form
    woody = np.isin(form, (CLIMBING, SPRAWLING, SHRUB))
    again = site.components.resprouts != Known.NO
    at_target = site.components.cover_likely <= site.of_patch("target_cover")
    sparse = site.components.cover_likely <= site.limits.sparse_cover
    small = (site.canopy_m2 <= site.limits.pull_canopy_m2) | sparse
    ground, herb = form == GROUND_COVER, form == HERB
    return [
        Choice("monitor", "Cover is at or below the patch's target: hold it, and watch.", at_target & ~site.fruits),
        Choice("hand-pull", "Small or sparse enough to pull with the roots.", small),
        Choice("cut-stem", "Widespread, and the plant sprouts again: cut, and treat the cuts.", woody & again),
        Choice("cut", "Widespread: cut it.", woody),
        Choice("dormant-foliar", "Widespread and evergreen: spray it while natives are dormant.", ground),
        Choice("mow-mulch", "Widespread ground cover: mow it, and come back.", ground),
        Choice("spot-foliar", "Widespread ground cover: spot spray, plant by plant.", ground),
        Choice("cut", "Widespread herb: cut it before it sets fruit.", herb),
        Choice("mow-mulch", "Widespread herb: mow it before it sets fruit.", herb),
        Choice("monitor", "No method of treatment fits: watch it.", np.ones(len(form), dtype=bool)),
    ]


def _reasons(rulings: Sequence[tuple[Rule, Ruling]], method: Method, component: int) -> Iterator[Reason]:
    """What each rule says about one method for one component."""
    for rule, ruling in rulings:
        for mask, text, verdict in (
            (ruling.no, rule.no, Known.NO),
            (ruling.unknown, rule.unknown, Known.UNKNOWN),
            (ruling.condition, rule.condition, Known.YES),
        ):
            if mask[component] if isinstance(mask, np.ndarray) else mask:
                worded = text.format(method=method.name)
                yield Reason(rule.name, worded[:1].upper() + worded[1:], rule.source, verdict)


def _verdicts(site: SiteView, method: Method, rules: tuple[Rule, ...] = RULES) -> SmallArray:
    """YES, NO or UNKNOWN by component; a no outweighs what is unknown."""
    no = np.zeros(len(site.components), dtype=bool)
    unknown = np.zeros_like(no)
    for rule in rules:
        ruling = rule.judge(site, method)
        no |= ruling.no
        unknown |= ruling.unknown
    return np.where(no, Known.NO, np.where(unknown, Known.UNKNOWN, Known.YES)).astype(np.int8)


@dataclass(frozen=True)
class Suitability:
    """Verdicts [component, method] as values of `Known`; `recommended` a method's index by component, or -1."""

    site: SiteView
    methods: MethodTable
    fits: SmallArray
    recommended: IntArray
    recommended_by: IntArray

    @cached_property
    def _rulings(self) -> dict[int, tuple[tuple[Rule, Ruling], ...]]:
        """What each rule says of all components, by method; filled as it is asked for."""
        return {}

    @cached_property
    def _because(self) -> tuple[str, ...]:
        return tuple(choice.text for choice in _choices(self.site))

    def _rulings_of(self, method: int) -> tuple[tuple[Rule, Ruling], ...]:
        if method not in self._rulings:
            judged = self.methods.methods[method]
            self._rulings[method] = tuple((rule, rule.judge(self.site, judged)) for rule in RULES)
        return self._rulings[method]

    def among(self, offered: BoolArray) -> "Suitability":
        """The same verdicts, with what is recommended taken from the offered methods [component, method] alone."""
        chosen, by = _recommend(self.site, self.methods, self.fits, offered)
        return replace(self, recommended=chosen, recommended_by=by)

    def reasons(self, component: int, method: int) -> tuple[Reason, ...]:
        """Rules that say no; where none does, those that ask the survey or set a condition; else a plain yes."""
        found = tuple(_reasons(self._rulings_of(method), self.methods.methods[method], component))
        found = tuple(reason for reason in found if reason.verdict == Known.NO) or found
        return found or (Reason("fits", "Nothing the survey says speaks against it.", "the survey", Known.YES),)

    def why(self, component: int) -> str:
        """Why the recommended method is recommended."""
        choice = int(self.recommended_by[component])
        if choice < 0:
            return "No method of the table fits."
        waits = self.fits[component, self.recommended[component]] == Known.UNKNOWN
        return self._because[choice] + (" Survey first: see what is unknown." if waits else "")

    def for_component(self, component: int) -> dict[str, Any]:
        """One component's answers as plain values."""
        chosen = int(self.recommended[component])
        return {
            "component": self.site.components.ids[component],
            "recommended": None if chosen == NO_METHOD else self.methods.codes[chosen],
            "because": self.why(component),
            "methods": [
                {
                    "method": code,
                    "fits": Known(int(self.fits[component, index])).name.lower(),
                    "reasons": [
                        {"rule": reason.rule, "text": reason.text, "source": reason.source}
                        for reason in self.reasons(component, index)
                    ],
                }
                for index, code in enumerate(self.methods.codes)
            ],
        }

    @cached_property
    def leading(self) -> IntArray:
        """By patch the component that sets its recommendation, -1 for none: what may fruit before the rest, then the
        largest canopy, then the first."""
        patch = self.site.components.patch_index
        found = np.full(len(self.site.patches), NO_COMPONENT)
        order = np.lexsort((-self.site.canopy_m2, ~self.site.fruits, patch))
        patches, firsts = np.unique(patch[order], return_index=True)
        found[patches] = order[firsts]
        return found

    def leading_component(self, patch: int) -> int | None:
        """The component that sets a patch's recommendation."""
        found = int(self.leading[patch])
        return None if found == NO_COMPONENT else found

    @cached_property
    def _by_patch(self) -> tuple[IntArray, IntArray]:
        """The components in the order of their patches, and the patch of each."""
        order = np.argsort(self.site.components.patch_index, kind="stable")
        return order, self.site.components.patch_index[order]

    def _of_patch(self, patch: int) -> IntArray:
        """The components of a patch, in their order."""
        order, patches = self._by_patch
        first, end = np.searchsorted(patches, (patch, patch + 1))
        return order[first:end]

    def best_component(self, patch: int, method: int) -> int | None:
        """The component of a patch that a method fits best, the first of those that are alike."""
        rows = self._of_patch(patch)
        return min(map(int, rows), key=lambda row: _BEST.index(Known(int(self.fits[row, method]))), default=None)

    def method_on_patch(self, patch: int, method: int) -> tuple[Known, tuple[Reason, ...]]:
        """Whether a method fits a patch, by the component that it fits best, and the reasons there."""
        component = self.best_component(patch, method)
        if component is None:
            nothing = Reason("nothing to treat", "The patch has no surveyed component.", "the survey", Known.NO)
            return Known.NO, (nothing,)
        return Known(int(self.fits[component, method])), self.reasons(component, method)

    def for_patch(self, patch: int) -> dict[str, Any]:
        """A patch's answers: by method the best of its components, and each component's own."""
        rows = self._of_patch(patch)
        leading = self.leading_component(patch)
        chosen = NO_METHOD if leading is None else int(self.recommended[leading])
        best = {
            code: min((Known(int(value)) for value in self.fits[rows, index]), key=_BEST.index, default=Known.NO)
            for index, code in enumerate(self.methods.codes)
        }
        return {
            "patch": self.site.patches.ids[patch],
            "recommended": None if chosen == NO_METHOD else self.methods.codes[chosen],
            "because": "The patch has no surveyed component." if leading is None else self.why(leading),
            "methods": {code: verdict.name.lower() for code, verdict in best.items()},
            "components": [self.for_component(int(row)) for row in rows],
        }


_BEST = (Known.YES, Known.UNKNOWN, Known.NO)


def _recommend(
    site: SiteView, methods: MethodTable, fits: SmallArray, offered: BoolArray | None = None
) -> tuple[IntArray, IntArray]:
    """The first choice whose method fits; where none does, the first that only waits for the survey; else the last.
    `offered` [component, method]: what may be recommended at all."""
    may = np.ones(fits.shape, dtype=bool) if offered is None else offered
    chosen = np.full(len(site.components), NO_METHOD)
    by = np.full(len(site.components), NO_METHOD)
    choices = _choices(site)
    treating, last = range(len(choices) - 1), (len(choices) - 1,)
    for accepted, numbers in ((Known.YES, treating), (Known.UNKNOWN, treating), (Known.YES, last)):
        for number in numbers:
            choice = choices[number]
            if choice.method not in methods.codes:
                continue
            index = methods.codes.index(choice.method)
            take = (chosen == NO_METHOD) & choice.where & may[:, index] & (fits[:, index] == accepted)
            chosen[take], by[take] = index, number
    return chosen, by


def suit(
    patches: PatchFacts,
    components: ComponentFacts,
    methods: MethodTable,
    limits: SuitabilityLimits | None = None,
) -> Suitability:
    """Judge every method for every component."""
    components.check_against(patches)
    site = SiteView(patches, components, limits or SuitabilityLimits())
    judged = [_verdicts(site, method) for method in methods.methods]
    fits = np.stack(judged, axis=1) if judged else np.zeros((len(components), 0), np.int8)
    chosen, by = _recommend(site, methods, fits)
    return Suitability(site, methods, fits, chosen, by)
