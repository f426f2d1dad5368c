"""One row a surveyed patch, from rows that are stored: a fixed number of queries, however many patches there are."""

from collections import defaultdict
from collections.abc import Mapping, Set
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple

from django.db.models import QuerySet

from orders.planning.models import Season
from orders.planning.selectors import prescriptions_standing
from orders.reminders.models import LATE, MET, MISSED, OPEN, Deadline
from orders.sites.models import GrowthForm, Patch, Site, Species, Survey, SurveyComponent
from orders.workorders.models import OrderVisit

# What is furthest on says where a patch stands.
ORDER_STATES = ("underway", "issued", "draft", "closed")
SEEDS = (OPEN, LATE, MISSED, MET)


class GroundRow(NamedTuple):
    """A patch by its newest survey. `chosen` are codes of methods, the first choice first; `hours` the likely ones of
    all that is asked for; `seed_*` of the deadline that is due first; `meets` that an order is to meet it."""

    n: int
    site: str
    site_name: str
    code: str
    name: str
    control_state: str
    target_cover: float
    observed_on: date
    box: tuple[float, float, float, float]
    infested_m2: float
    cover: float
    species: Set[str]
    forms: Set[str]
    chosen: tuple[str, ...]
    hours: float
    order_state: str
    seed_due_on: date | None
    seed_state: str
    meets: bool


@dataclass
class _Seen:
    """What the components of a survey come to."""

    infested_m2: float
    canopy_m2: float
    species: set[str]
    forms: set[str]


@dataclass
class _Asked:
    """What is asked for on a patch in the season."""

    chosen: list[str]
    hours: float
    meets: bool


NOTHING_SEEN = _Seen(0.0, 0.0, set(), set())
NOTHING_ASKED = _Asked([], 0.0, False)
PATCH_COLUMNS = ("pk", "site_id", "code", "name", "control_state", "target_cover")
SURVEY_COLUMNS = ("patch_id", "pk", "observed_on", "min_lon", "min_lat", "max_lon", "max_lat")


def ground_rows(season: Season | None, on: date) -> list[GroundRow]:
    """All surveyed patches, by site and code."""
    surveys = _surveys()
    seen = _seen({facts[1] for facts in surveys.values()})
    asked = _asked(season) if season else {}
    orders = _order_states(season) if season else {}
    seeds = _seeds((season.first_day, season.last_day) if season else (date(on.year, 1, 1), date(on.year, 12, 31)))
    sites = {key: (code, name) for key, code, name in Site.objects.order_by().values_list("pk", "code", "name")}
    patches = Patch.objects.filter(ended_on__isnull=True).order_by("site__code", "code").values_list(*PATCH_COLUMNS)
    return [
        _row(facts, sites[facts[1]], survey, seen, asked, orders, seeds)
        for facts in patches
        if (survey := surveys.get(facts[0])) is not None
    ]


def _surveys() -> dict[int, tuple[Any, ...]]:
    """The survey that counts of each patch. All are read, oldest first, which costs less than to ask for the newest
    of every patch; `surveys_current` has the same rule for those who need the rows themselves."""
    rows = Survey.objects.filter(voided_at__isnull=True).order_by("patch_id", "observed_on", "id")
    return {facts[0]: facts for facts in rows.values_list(*SURVEY_COLUMNS)}


def _row(
    patch: tuple[Any, ...],
    site: tuple[str, str],
    survey: tuple[Any, ...],
    seen: Mapping[int, _Seen],
    asked: Mapping[int, _Asked],
    orders: Mapping[int, str],
    seeds: Mapping[int, tuple[date, str]],
) -> GroundRow:
    key, _, code, name, state, target = patch
    _, survey_key, observed_on, west, south, east, north = survey
    found = seen.get(survey_key, NOTHING_SEEN)
    wanted = asked.get(key, NOTHING_ASKED)
    due_on, seed_state = seeds.get(key, (None, ""))
    return GroundRow(
        n=key,
        site=site[0],
        site_name=site[1],
        code=code,
        name=name,
        control_state=state,
        target_cover=target,
        observed_on=observed_on,
        box=(west, south, east, north),
        infested_m2=found.infested_m2,
        cover=found.canopy_m2 / found.infested_m2 if found.infested_m2 else 0.0,
        species=found.species,
        forms=found.forms,
        chosen=tuple(wanted.chosen),
        hours=wanted.hours,
        order_state=orders.get(key, ""),
        seed_due_on=due_on,
        seed_state=seed_state,
        meets=wanted.meets,
    )


def _seen(surveys: set[int]) -> dict[int, _Seen]:
    """By survey; species and forms by code."""
    species, forms = _codes(Species), _codes(GrowthForm)
    rows = SurveyComponent.objects.order_by().values_list(
        "survey_id", "species_id", "growth_form_id", "infested_area_m2", "cover_likely"
    )
    found: dict[int, _Seen] = {}
    for survey, kind, form, area, cover in rows:
        if survey not in surveys:
            continue
        known = found.get(survey)
        if known is None:
            found[survey] = known = _Seen(0.0, 0.0, set(), set())
        known.infested_m2 += area
        known.canopy_m2 += area * cover
        known.species.add(species[kind])
        known.forms.add(forms[form])
    return found


def _codes(model: type[Species] | type[GrowthForm]) -> dict[int, str]:
    return dict(model.objects.order_by().values_list("pk", "code"))


def _asked(season: Season) -> dict[int, _Asked]:
    """By patch; what follows in a chain asks for hours and is no choice."""
    found: dict[int, _Asked] = defaultdict(lambda: _Asked([], 0.0, False))
    columns = ("patch_id", "method__code", "origin", "state", "share_left", "estimate__hours_likely", "seed_due_on")
    rows = prescriptions_standing(season).order_by("patch_id", "id").values_list(*columns)
    for patch, method, origin, state, share, hours, due_on in rows:
        known = found[patch]
        if origin != "follow_up" and method not in known.chosen:
            known.chosen.append(method)
        if state != "done":
            known.hours += share * hours
        known.meets |= due_on is not None and state == "ordered"
    return dict(found)


def _order_states(season: Season) -> dict[int, str]:
    """By patch; a void order is none."""
    patch = "visit__shares__prescription__patch"
    rows: QuerySet[OrderVisit, Any] = (
        OrderVisit.objects.filter(order__season=season, visit__shares__isnull=False)
        .exclude(order__state="void")
        .order_by()
        .values_list(patch, "order__state")
        .distinct()
    )
    found: dict[int, str] = {}
    for key, state in rows:
        if key not in found or ORDER_STATES.index(state) < ORDER_STATES.index(found[key]):
            found[key] = state
    return found


def _seeds(days: tuple[date, date]) -> dict[int, tuple[date, str]]:
    """By patch, the one that is due first of those still owed, else of those met."""
    rows = Deadline.objects.filter(kind="seed", patch__isnull=False, state__in=SEEDS, due_on__range=days)
    found: dict[int, tuple[date, str]] = {}
    for patch, due_on, state in rows.order_by("due_on", "id").values_list("patch_id", "due_on", "state"):
        known = found.get(patch)
        if known is None or (known[1] == MET and state != MET):
            found[patch] = (due_on, state)
    return found
