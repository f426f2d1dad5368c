"""The rules that say whether a method fits a component on its patch: each with a name, plain words and a source.

A rule answers for all components at once with three masks: where it says no, where the survey must answer first, and
where it says yes on a condition that the reader has to know.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from estimating.columns import BoolArray, FloatArray, Known, SmallArray
from estimating.inputs import CLIMBING, SPRAWLING, ComponentFacts, PatchFacts
from estimating.methods import Method
from estimating.units import SQUARE_METRES_PER_ACRE


@dataclass(frozen=True, kw_only=True)
class SuitabilityLimits:
    """Figures the rules go by; a program sets its own. All invented unless said."""

    pull_canopy_m2: float = 400.0  # more than a crew pulls in about two days at the rate book's dense rate
    dig_canopy_m2: float = 100.0
    sparse_cover: float = 0.05  # the lowest class of the common schemes
    small_area_m2: float = 1000.0
    large_area_m2: float = 500.0
    water_distance_m: float = 15.0
    broadcast_plants_per_acre: float = 300.0  # Texas & Southwestern Cattle Raisers (rangeland; soft)


@dataclass(frozen=True)
class SiteView:
    """Facts by component, with those of its patch beside them."""

    patches: PatchFacts
    components: ComponentFacts
    limits: SuitabilityLimits

    def of_patch(self, name: str) -> FloatArray:
        """A number of the patch, by component."""
        values: FloatArray = getattr(self.patches, name)[self.components.patch_index]
        return values

    def answer(self, name: str) -> SmallArray:
        """An answer of the patch or of the component."""
        own = getattr(self.components, name, None)
        values: SmallArray = getattr(self.patches, name)[self.components.patch_index] if own is None else own
        return values

    @property
    def canopy_m2(self) -> FloatArray:
        """Infested area x cover."""
        return self.components.infested_area_m2 * self.components.cover_likely

    @property
    def fruits(self) -> BoolArray:
        """Climbing or sprawling, and fertile or not known not to be; the ground-cover form does not fruit."""
        form = self.components.growth_form
        may = self.components.fertile != Known.NO
        return np.asarray(((form == CLIMBING) | (form == SPRAWLING)) & may)


@dataclass(frozen=True)
class Ruling:
    """Where a rule says no, where the survey must answer first, and where it sets a condition."""

    no: BoolArray | bool = False
    unknown: BoolArray | bool = False
    condition: BoolArray | bool = False


@dataclass(frozen=True)
class Rule:
    """One rule; the texts are complete sentences, with `{method}` for the method's name."""

    name: str
    source: str
    judge: Callable[[SiteView, Method], Ruling]
    no: str = ""
    unknown: str = ""
    condition: str = ""


NOTHING = Ruling()


def _form(site: SiteView, method: Method) -> Ruling:
    return Ruling(no=~method.treats()[site.components.growth_form])


def _present(site: SiteView, method: Method) -> Ruling:
    if not method.removes_fruit and not method.kills_roots and not method.treats_stems:
        return NOTHING
    return Ruling(no=site.components.infested_area_m2 <= 0)


def _slope(site: SiteView, method: Method) -> Ruling:
    return Ruling(no=site.of_patch("slope_deg") > method.highest_slope_deg)


def _wet(site: SiteView, method: Method) -> Ruling:
    if method.wet_ground_allowed:
        return NOTHING
    wet = site.answer("wet_ground")
    return Ruling(no=wet == Known.YES, unknown=wet == Known.UNKNOWN)


def _size(site: SiteView, method: Method) -> Ruling:
    area_m2 = site.components.infested_area_m2
    if method.smallest_use == "small":
        return Ruling(no=area_m2 > site.limits.small_area_m2)
    if method.smallest_use == "large":
        return Ruling(no=area_m2 < site.limits.large_area_m2)
    return NOTHING


def _by_hand(site: SiteView, method: Method) -> Ruling:
    limit = {"hand-pull": site.limits.pull_canopy_m2, "dig": site.limits.dig_canopy_m2}.get(method.code)
    if limit is None:
        return NOTHING
    sparse = site.components.cover_likely <= site.limits.sparse_cover
    return Ruling(no=(site.canopy_m2 > limit) & ~sparse)


def _tree_roots(site: SiteView, method: Method) -> Ruling:
    roots = site.answer("desirable_tree_roots")
    if method.code == "dig":
        return Ruling(no=roots == Known.YES, unknown=roots == Known.UNKNOWN)
    return Ruling(condition=roots != Known.NO) if method.uses_herbicide else NOTHING


def _evergreen_leaves(site: SiteView, method: Method) -> Ruling:
    if method.season_rule != "dormant season":
        return NOTHING
    evergreen = site.answer("evergreen")
    return Ruling(no=evergreen == Known.NO, unknown=evergreen == Known.UNKNOWN)


def _evergreen_natives(site: SiteView, method: Method) -> Ruling:
    if method.season_rule != "dormant season":
        return NOTHING
    return Ruling(condition=site.answer("evergreen_natives") != Known.NO)


def _natives_green(site: SiteView, method: Method) -> Ruling:
    if method.season_rule != "growing season":
        return NOTHING
    return Ruling(condition=np.ones(len(site.components), dtype=bool))


def _smothered(site: SiteView, method: Method) -> Ruling:
    if method.code != "tarp":
        return NOTHING
    natives = (site.answer("evergreen_natives"), site.answer("spring_ephemerals"))
    no = (natives[0] == Known.YES) | (natives[1] == Known.YES)
    return Ruling(no=no, unknown=~no & ((natives[0] == Known.UNKNOWN) | (natives[1] == Known.UNKNOWN)))


def _thick_stems(site: SiteView, method: Method) -> Ruling:
    if method.code not in ("girdle", "hack-squirt"):
        return NOTHING
    thick = site.components.stems[:, 1:].sum(axis=1)
    return Ruling(no=thick == 0)


def _resprouts(site: SiteView, method: Method) -> Ruling:
    if method.kills_roots or not (method.treats_stems or method.removes_fruit):
        return NOTHING
    return Ruling(condition=site.answer("resprouts") != Known.NO)


def _rooting_stems(site: SiteView, method: Method) -> Ruling:
    if method.uses_herbicide or not method.removes_fruit:
        return NOTHING
    return Ruling(condition=site.answer("reroots") != Known.NO)


def _water(site: SiteView, method: Method) -> Ruling:
    if not method.uses_herbicide:
        return NOTHING
    distance_m = site.of_patch("distance_to_water_m")
    return Ruling(condition=~(distance_m >= site.limits.water_distance_m))


def _many_plants(site: SiteView, method: Method) -> Ruling:
    """Advice alone, on stems that were counted; climbing vines are on trees, where nothing is broadcast."""
    plant_by_plant = method.treats_stems or method.season_rule == "growing season"
    if not (method.uses_herbicide and plant_by_plant):
        return NOTHING
    acres = np.maximum(site.components.infested_area_m2, 1e-9) / SQUARE_METRES_PER_ACRE
    counted = site.components.stems.sum(axis=1)  # NaN where a class was not counted
    many = counted / acres >= site.limits.broadcast_plants_per_acre
    return Ruling(condition=many & (site.components.growth_form != CLIMBING))


def _license(site: SiteView, method: Method) -> Ruling:
    return Ruling(condition=np.full(len(site.components), method.needs_license))


RULES: tuple[Rule, ...] = (
    Rule("growth form", "the program's table of methods", _form, no="{method} does not treat this growth form."),
    Rule("nothing to treat", "common practice", _present, no="The survey found no infested area here."),
    Rule("slope", "the program's table of methods", _slope, no="The slope is too steep for {method}."),
    Rule(
        "wet ground",
        "the program's table of methods",
        _wet,
        no="{method} is not for wet ground.",
        unknown="unknown: survey first. {method} is not for wet ground, and the survey does not say.",
    ),
    Rule("size", "common practice", _size, no="The infested area has not the size that {method} is for."),
    Rule(
        "small or sparse",
        "common practice: small or sparse patches are pulled with their roots",
        _by_hand,
        no="There is more under leaf here than {method} can take on.",
    ),
    Rule(
        "tree roots",
        "metsulfuron label text at greenbook.net/node/84434; TNC Weed Control Methods Handbook p. 7h.1 on imazapyr",
        _tree_roots,
        no="Desirable trees root here, and {method} would cut their roots.",
        unknown="unknown: survey first. {method} cuts roots, and the survey does not say if desirable trees root here.",
        condition="Only products that do not act through the soil: desirable trees root here, or may.",
    ),
    Rule(
        "evergreen leaves",
        "Rathfon & Ruble 2007, GTR SRS-101:187-197: 2% kill of a deciduous shrub on November 2",
        _evergreen_leaves,
        no="The plant drops its leaves, so there is nothing to spray while natives are dormant.",
        unknown="unknown: survey first. {method} needs a plant that keeps its leaves, and the survey does not say.",
    ),
    Rule(
        "evergreen natives",
        "common practice",
        _evergreen_natives,
        condition="Only as shielded spot work: evergreen natives stand here, or may.",
    ),
    Rule(
        "natives in leaf",
        "common practice",
        _natives_green,
        condition="Natives are green then: only as spot work, plant by plant.",
    ),
    Rule(
        "smothering",
        "common practice",
        _smothered,
        no="A tarp would kill the evergreen natives or spring ephemerals that grow here.",
        unknown="unknown: survey first. A tarp kills what grows under it, and the survey does not say if natives do.",
    ),
    Rule("thick stems", "common practice", _thick_stems, no="All stems are too thin for {method}; cut them instead."),
    Rule(
        "resprouting",
        "common practice: cut stems of a resprouting species get treated or the patch gets a follow-up",
        _resprouts,
        condition="The plant sprouts again from its roots, or may: plan a follow-up, or treat the cuts.",
    ),
    Rule(
        "rooting stems",
        "common practice",
        _rooting_stems,
        condition="Stems left on the ground root again, or may: bag them, or hang them clear of it.",
    ),
    Rule(
        "water",
        "USFS Siuslaw Invasive Plants Project, Appendix A Table A-1 (one forest's criteria)",
        _water,
        condition="Only products with an aquatic label: water is near, or its distance is not known.",
    ),
    Rule(
        "many plants",
        "Texas & Southwestern Cattle Raisers, return on brush management: 300 or more plants an acre (rangeland; soft)",
        _many_plants,
        condition="Advice: at so many plants an acre, treating the whole area costs less than plant by plant, "
        "where nothing worth keeping stands between them.",
    ),
    Rule("license", "the program's table of methods", _license, condition="{method} needs a licensed person."),
)
