"""What work is worth to the planner beside its cost: seed sources about to fruit first, then infested area, then the
edge of spread. Each weight is tunable by season; nothing here is money that anybody pays."""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.models import Method
from orders.planning.models import Prescription, Season
from orders.sites.models import Survey, SurveyComponent
from orders.sites.overlaps import meters_a_degree
from orders.sites.selectors import surveys_current

# Points of the range of cost at which a budget must hold: how sure one wants to be that the money lasts.
BUDGET_LEVELS = {"likely": 0.5, "cautious": 0.8, "near certain": 0.95}


@dataclass(frozen=True, kw_only=True)
class Weights:
    """How much each reason adds, from memory and ours to tune.

    `control`, `seed`, `sooner`, `edge` and `owed` are multiples of the work's own likely cost; `area_cents_m2` is cents
    for each square meter treated; `may_fruit` is the share of `seed` and `sooner` that counts where nobody knows if the
    plant fruits. `sooner` grows from 0 for a deadline on the season's last day to the whole for one on its first.
    With `control` above 1 all that is asked for is worth more than it costs.
    """

    control: float = 2.0
    area_cents_m2: float = 60.0
    seed: float = 8.0
    sooner: float = 4.0
    may_fruit: float = 0.6
    edge: float = 1.0
    owed: float = 3.0

    @classmethod
    def of(cls, season: Season) -> "Weights":
        """The usual figures with what the season says otherwise."""
        return replace(cls(), **season.worth)


@dataclass(frozen=True)
class WorthFacts:
    """What the worth of a season's work needs to know, read once.

    `edges`: by patch how far out it lies, 0 to 1. `fertile`: surveys with a fruiting form that is known to fruit.
    """

    weights: Weights
    first_day: date
    last_day: date
    edges: Mapping[int, float]
    fertile: frozenset[int]


def worth_facts(season: Season) -> WorthFacts:
    surveys = list(surveys_current())
    known = SurveyComponent.objects.filter(fertile="yes", growth_form__fruits=True)
    fertile = frozenset(known.values_list("survey_id", flat=True))
    return WorthFacts(Weights.of(season), season.first_day, season.last_day, edges_of_spread(surveys), fertile)


def worth_cents(asked: Prescription, share: float, facts: WorthFacts) -> int:
    """What a share (0 to 1) of what is left of a prescription is worth, in cents."""
    made, weights, part = asked.estimate, facts.weights, asked.share_left * share
    times = weights.control + weights.edge * facts.edges.get(asked.patch_id, 0.0)
    times += weights.owed if is_owed(asked) else 0.0
    times += _seed_times(asked, facts)
    area = weights.area_cents_m2 * made.treated_area_m2 if _treats(asked.method) else 0.0
    return round((made.total_cents * times + area) * part)


def _treats(method: Method) -> bool:
    """Whether the method changes anything on the ground: a monitoring visit only looks."""
    return "yes" in {method.facts.get(name) for name in ("removes_fruit", "treats_stems", "kills_roots")}


def is_owed(asked: Prescription) -> bool:
    """Begun work: a follow-up, a remainder, or ground under treatment. It is served before new ground is opened.

    What follows work that is not done yet is owed no more than that work is.
    """
    if asked.origin == "follow_up" and asked.follows is not None and asked.follows.state != "done":
        return is_owed(asked.follows)
    return asked.origin != "survey" or asked.patch.control_state == "under_treatment"


def _seed_times(asked: Prescription, facts: WorthFacts) -> float:
    """Multiples of cost that stopping seed adds; 0 for work that meets no seed deadline."""
    if asked.seed_due_on is None:
        return 0.0
    days = max((facts.last_day - facts.first_day).days, 1)
    early = min(max((facts.last_day - asked.seed_due_on).days / days, 0.0), 1.0)
    surely = 1.0 if asked.estimate.survey_id in facts.fertile else facts.weights.may_fruit
    return (facts.weights.seed + facts.weights.sooner * early) * surely


def edges_of_spread(surveys: Sequence[Survey]) -> dict[int, float]:
    """How far out each patch lies at its site, 0 to 1. Our own rule; no published one was found.

    A site's middle is the mean of its patches' middles, weighted by infested area. A patch counts by the larger of two
    shares: its distance from that middle, of the greatest at the site; and its distance from its nearest neighbor, of
    the greatest such distance at the site. A lone patch is all edge.
    """
    sites: dict[int, list[Survey]] = defaultdict(list)
    for survey in surveys:
        sites[survey.patch.site_id].append(survey)
    return {patch_id: edge for rows in sites.values() for patch_id, edge in _site_edges(rows).items()}


def _site_edges(surveys: Sequence[Survey]) -> dict[int, float]:
    if len(surveys) == 1:
        return {surveys[0].patch_id: 1.0}
    places = _places_m(surveys)
    areas = [sum(row.infested_area_m2 for row in survey.components.all()) or 1.0 for survey in surveys]
    whole = sum(areas)
    middle = tuple(
        sum(area * place[axis] for area, place in zip(areas, places, strict=True)) / whole for axis in (0, 1)
    )
    out = [math.dist(place, middle) for place in places]
    alone = [
        min(math.dist(place, other) for n, other in enumerate(places) if n != own) for own, place in enumerate(places)
    ]
    return {
        survey.patch_id: max(_of_greatest(out, number), _of_greatest(alone, number))
        for number, survey in enumerate(surveys)
    }


def _of_greatest(values: Sequence[float], number: int) -> float:
    greatest = max(values)
    return values[number] / greatest if greatest > 0 else 0.0


def _places_m(surveys: Sequence[Survey]) -> list[tuple[float, float]]:
    """The middles of the outlines' boxes in meters, on a plane around the first."""
    east, north = meters_a_degree((surveys[0].min_lat + surveys[0].max_lat) / 2)
    return [
        (east * (survey.min_lon + survey.max_lon) / 2, north * (survey.min_lat + survey.max_lat) / 2)
        for survey in surveys
    ]


@writing()
def season_worth_set(
    *, season: Season, worth: Mapping[str, float], stamp: Stamp, expected_version: int | None = None
) -> Season:
    """Say by how much reasons count this season; what is not named counts as usual, and nothing named puts it back."""
    usual = asdict(Weights())
    errors = [FieldError(name[:60], f"is none of {', '.join(usual)}") for name in worth if name not in usual]
    errors += [
        FieldError(name, "must be a number, 0 or more")
        for name, value in worth.items()
        if name in usual and not _is_weight(value)
    ]
    if errors:
        raise Invalid("What work is worth was not changed.", errors)
    kept = {name: float(value) for name, value in worth.items() if float(value) != usual[name]}
    before = version_bump(season, expected=expected_version, worth=kept)
    change_record(stamp=stamp, verb="season_worth_set", entity=season, before=before, after={"worth": kept})
    return season


def _is_weight(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < math.inf


@writing()
def season_budget_level_set(*, season: Season, level: str, stamp: Stamp, expected_version: int | None = None) -> Season:
    """Say how sure one wants to be that the budgets last: likely, cautious or near certain."""
    if level not in BUDGET_LEVELS:
        message = f"must be one of {', '.join(BUDGET_LEVELS)}"
        raise Invalid("The budget's level was not changed.", [FieldError("level", message)])
    before = version_bump(season, expected=expected_version, budget_level=BUDGET_LEVELS[level])
    after = {"budget_level": season.budget_level}
    change_record(stamp=stamp, verb="season_budget_level_set", entity=season, before=before, after=after)
    return season


def budget_level_name(level: float) -> str:
    """The name of a level; one that has none is told as a share."""
    named = {value: name for name, value in BUDGET_LEVELS.items()}
    return named.get(level, f"{level:.0%}")
