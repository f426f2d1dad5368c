"""What of a first run is there already: counted in the database, with the same number of questions for any program."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.models import User
from orders.costs.fund_selectors import says_who_pays
from orders.costs.selectors import funds
from orders.crews.models import LaborRole, Person, Qualification
from orders.crews.selectors import crews_all, standard_rates, stays
from orders.desk.views.sites import PLAN
from orders.estimates.models import Estimate, Method, RateBook
from orders.planning.models import PlanRun, Prescription, Season
from orders.sites.models import ChecklistQuestion, Jurisdiction, Patch, Site, Species
from orders.sites.selectors import questions_open
from orders.supplies.models import Equipment, Mix, Product
from orders.supplies.selectors import product_prices
from orders.workorders.models import WorkOrder

MOST_NAMED = 5


@dataclass(frozen=True)
class Facts:
    users: int
    jurisdictions: int
    species: int
    sites: int
    plans_lacking: Sequence[tuple[str, str]]  # site and what its emergency plan does not say, the first few
    site_to_plan: Any  # its public id
    questions: int
    sites_unanswered: Sequence[tuple[str, int]]  # site and how many questions are open, the first few
    site_to_answer: Any  # its public id
    methods: int
    books: int
    draft_book: Any  # its public id
    in_force: bool
    roles: int
    roles_unrated: Sequence[str]
    people: int
    qualifications: int
    crews: int
    crews_with_people: int
    products: int
    mixes: int
    mix_unnamed: Any  # the public id of a mix that no method is done with
    unpriced: Sequence[tuple[str, str]]  # code and name of products in the mixes of methods with no price today
    methods_mixed: int  # methods with herbicide that have a mix
    equipment: int
    funds: int
    says_who_pays: bool  # a rule is there
    patches: int
    estimates: int
    season: Season | None
    prescriptions: int
    plans_accepted: int
    issued: int


def facts_now(today: date) -> Facts:
    season = Season.objects.filter(last_day__gte=today).order_by("first_day", "id").first()
    return Facts(
        **_ground(today), **_rates(today), **_people(today), **_supplies(today), **_season(season), season=season
    )


def _ground(today: date) -> dict[str, Any]:
    sites = list(Site.objects.defer("boundary").order_by("name"))
    still_open = questions_open({site.pk: today for site in sites}) if sites else {}
    unanswered = [site for site in sites if still_open[site.pk]]
    lacking = [(site, what) for site in sites if (what := _plan_lacks(site))]
    return {
        "users": User.objects.filter(is_active=True).count(),
        "jurisdictions": Jurisdiction.objects.filter(is_active=True).count(),
        "species": Species.objects.filter(is_active=True).count(),
        "sites": len(sites),
        "plans_lacking": [(site.name, what) for site, what in lacking[:MOST_NAMED]],
        "site_to_plan": lacking[0][0].public_id if lacking else None,
        "questions": ChecklistQuestion.objects.filter(is_active=True).count(),
        "sites_unanswered": [(site.name, still_open[site.pk]) for site in unanswered[:MOST_NAMED]],
        "site_to_answer": unanswered[0].public_id if unanswered else None,
        "patches": Patch.objects.count(),
    }


def _plan_lacks(site: Site) -> str:
    return ", ".join(what for name, what in PLAN.items() if getattr(site, name) in ("", None))


def _rates(today: date) -> dict[str, Any]:
    books = list(RateBook.objects.filter(crew_kind="staff").order_by("-id"))
    rated = standard_rates(today)
    roles = list(LaborRole.objects.order_by("name"))
    return {
        "methods": Method.objects.filter(is_active=True).count(),
        "books": len(books),
        "draft_book": next((book.public_id for book in books if book.state == "draft"), None),
        "in_force": any(book.state == "in_force" for book in books),
        "roles": len(roles),
        "roles_unrated": [role.name for role in roles if role.code not in rated],
        "estimates": Estimate.objects.count(),
    }


def _people(today: date) -> dict[str, Any]:
    crews = [crew for crew in crews_all() if crew.is_active]
    manned = set(stays(today, date.max).values_list("crew_id", flat=True))
    return {
        "people": Person.objects.filter(is_active=True).count(),
        "qualifications": Qualification.objects.filter(last_day__gte=today).count(),
        "crews": len(crews),
        "crews_with_people": len(manned),
    }


def _supplies(today: date) -> dict[str, Any]:
    mixes = list(Mix.objects.filter(is_active=True).order_by("name"))
    named = list(Method.objects.filter(is_active=True).exclude(default_mix=None).values_list("default_mix", flat=True))
    return {
        "products": Product.objects.filter(is_active=True).count(),
        "mixes": len(mixes),
        "mix_unnamed": next((mix.public_id for mix in mixes if mix.pk not in named), None),
        "unpriced": _unpriced(named, today),
        "methods_mixed": len(named),
        "equipment": Equipment.objects.count(),
        "funds": sum(not fund.is_suspense for fund in funds()),
        "says_who_pays": says_who_pays(),
    }


def _unpriced(mixes: Sequence[int], today: date) -> list[tuple[str, str]]:
    used = Product.objects.filter(mix_parts__mix__in=mixes).distinct().order_by("name").values_list("code", "name")
    priced = product_prices(today)
    return [(code, name) for code, name in used if code not in priced]


def _season(season: Season | None) -> dict[str, Any]:
    of_season = {"season": season} if season else {}
    orders = WorkOrder.objects.filter(state__in=["issued", "underway", "closed"], **of_season)
    return {
        "prescriptions": Prescription.objects.exclude(state="dropped").filter(**of_season).count(),
        "plans_accepted": PlanRun.objects.filter(accepted_at__isnull=False, **of_season).count(),
        "issued": orders.count(),
    }
