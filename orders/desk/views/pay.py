"""Rates of pay and the rules of pay, overtime, time off and match. Finance's."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Page
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from estimating.volunteer_value import HOUR_CENTS
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.costs.pay_selectors import (
    comp_time_agreement_get,
    comp_time_agreements,
    match_rates,
    overtime_rule,
    overtime_rules,
    pay_policies,
    pay_policy,
    pay_rates,
)
from orders.costs.services import (
    comp_time_agree,
    comp_time_end,
    match_rate_set,
    overtime_rule_set,
    pay_policy_set,
    pay_rate_set,
)
from orders.desk.columns import Sortable
from orders.desk.forms import asked
from orders.desk.listed import Sorted, file_asked, rows_sorted
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.pay_forms import (
    CompTimeEndForm,
    CompTimeForm,
    MatchRateForm,
    OvertimeRuleForm,
    PayForm,
    PersonSearchForm,
    PolicyForm,
    RateForm,
    RatePersonForm,
)
from orders.desk.pay_list_rows import COMP_TIME as COMP_TIME_FILE
from orders.desk.pay_list_rows import MATCH_RATES, OVERTIME_RULES, PAY_POLICIES, PAY_RATES
from orders.desk.try_week import TryWeekForm
from orders.desk.views.pages import page, tried

ROWS_A_PAGE = 50
WHAT = "The pages of pay"
RATE_TERMS = ("role", "wage_e4", "fringe_e4", "yearly_cents", "paid_hours", "productive_hours")
RATE_COLUMNS = {
    "person": Sortable("Person", "person__name"),
    "role": Sortable("Role", "role__name"),
    "from": Sortable("From", "from_day"),
    "wage": Sortable("Wage", "wage_e4", is_number=True),
    "rate": Sortable("Rate", "rate_e4", is_number=True),
    "how": Sortable("How the rate comes about"),
}
POLICY_COLUMNS = {
    "from": Sortable("From", "from_day"),
    "week": Sortable("Workweek", "week_starts_on"),
    "premium": Sortable("Premium", "overtime_method"),
    "borne": Sortable("Borne", "spread"),
    "punches": Sortable("Punches", "punch_minutes"),
    "off": Sortable("Time off", "comp_time"),
    "source": Sortable("Source"),
}
RULE_COLUMNS = {
    "where": Sortable("Where", "jurisdiction__name"),
    "from": Sortable("From", "from_day"),
    "half": Sortable("Time and a half beyond", "week_minutes"),
    "double": Sortable("Double time beyond", "day_double_minutes"),
    "seventh": Sortable("Seventh day", "seventh_day"),
    "reviewed": Sortable("Reviewed", "reviewed_by"),
    "source": Sortable("Source"),
}
AGREEMENT_COLUMNS = {
    "person": Sortable("Person", "person__name"),
    "from": Sortable("From", "first_day"),
    "until": Sortable("Until", "last_day"),
    "kept": Sortable("Where it is kept"),
}
MATCH_COLUMNS = {
    "whose": Sortable("Whose hours", "person_type"),
    "role": Sortable("Role", "role__name"),
    "from": Sortable("From", "from_day"),
    "rate": Sortable("Rate", "rate_e4", is_number=True),
    "fringe": Sortable("Fringe", "fringe_e4", is_number=True),
    "source": Sortable("Taken from"),
}
form_page = require_http_methods(["GET", "HEAD", "POST"])


def _stamp(actor: User) -> Stamp:
    return Stamp(by=actor, at=now())


def _today(actor: User) -> date:
    return _stamp(actor).local_date(settings.PROGRAM_TIME_ZONE)


def _page(request: HttpRequest, listed: Sorted, prefix: str = "") -> Page[Any]:
    return listed.page(request.GET.get(f"{prefix}page", "1"), ROWS_A_PAGE)


def _told(request: HttpRequest, listed: Sorted) -> dict[str, Any]:
    return {"rows": _page(request, listed), "headings": listed.headings, "sort": listed.sort}


@require_safe
@page
def rates_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = PersonSearchForm(request.GET)
    listed = rows_sorted(request, pay_rates(actor, name=asked(form)["q"]), RATE_COLUMNS, "")
    if file_asked(request):
        return PAY_RATES.reply(listed.found)
    return render(request, "desk/pay_rates.html", {**_told(request, listed), "form": form})


@require_safe
@page
def rules_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    policy = pay_policy(_today(actor))
    policies = rows_sorted(request, pay_policies(actor), POLICY_COLUMNS, "-from", "policies_")
    rules = rows_sorted(request, overtime_rules(actor), RULE_COLUMNS, "")
    if file_asked(request):
        return OVERTIME_RULES.reply(rules.found)
    if file_asked(request, "policies"):
        return PAY_POLICIES.reply(policies.found)
    told = {
        **_told(request, rules),
        "policies": _page(request, policies, "policies_"),
        "policies_headings": policies.headings,
        "policy": policy,
    }
    return render(request, "desk/pay_rules.html", told)


@require_safe
@page
def comp_time_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = PersonSearchForm(request.GET)
    listed = rows_sorted(request, comp_time_agreements(actor, name=asked(form)["q"]), AGREEMENT_COLUMNS, "")
    if file_asked(request):
        return COMP_TIME_FILE.reply(listed.found)
    told = {**_told(request, listed), "form": form, "is_allowed": pay_policy(_today(actor)).comp_time}
    return render(request, "desk/comp_time.html", told)


@require_safe
@page
def match_rates_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    listed = rows_sorted(request, match_rates(actor), MATCH_COLUMNS, "")
    if file_asked(request):
        return MATCH_RATES.reply(listed.found)
    told = {**_told(request, listed), "impact": sorted(HOUR_CENTS.items(), reverse=True)}
    return render(request, "desk/match_rates.html", told)


@dataclass(frozen=True)
class Adding:
    """A page with one form: its words, what it writes, and the list that it goes back to."""

    title: str
    about: str
    button: str
    done: str
    back: str
    here: str
    form: type[PayForm]
    write: Callable[..., Any]


def _added(request: HttpRequest, actor: User, adding: Adding, form: PayForm) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    if form.is_bound and form.is_valid():
        refusal = tried(lambda: adding.write(stamp=_stamp(actor), **form.values()))
        if refusal is None:
            messages.success(request, adding.done)
            return redirect(adding.back)
        form.wrong(refusal)
    told = {"adding": adding, "form": form, "may_figure": adding is RATE}
    return render(request, "desk/pay_add.html", told, status=400 if form.errors else 200)


RATE = Adding(
    title="Set a rate of pay",
    about="From a day on; the rates before stay for their days. Where no rate is typed, it is figured: (wage × paid "
    "hours × (1 + fringe) + fixed cost) ÷ productive hours.",
    button="Set the rate",
    done="The rate is set.",
    back="pay",
    here="pay",
    form=RateForm,
    write=pay_rate_set,
)
POLICY = Adding(
    title="Set how the program pays",
    about="From the first day of a workweek on; days before keep the policy that they had.",
    button="Set the policy",
    done="The policy is set.",
    back="pay-rules",
    here="pay-rules",
    form=PolicyForm,
    write=pay_policy_set,
)
OVERTIME = Adding(
    title="Add a rule of overtime",
    about="State rules differ, and a copy of one is no advice: a payroll professional decides. No rule here can be "
    "weaker than the federal one, and hours that are overtime by the day do not count again toward the week.",
    button="Add the rule",
    done="The rule is added.",
    back="pay-rules",
    here="pay-rules",
    form=OvertimeRuleForm,
    write=overtime_rule_set,
)
COMP_TIME = Adding(
    title="Record an agreement on time off",
    about="Made before the work, and covering whole workweeks: one and a half hours off for each hour of overtime, in "
    "place of the premium. Public agencies alone may (29 USC 207(o)).",
    button="Record the agreement",
    done="The agreement is recorded.",
    back="comp-time",
    here="comp-time",
    form=CompTimeForm,
    write=comp_time_agree,
)
MATCH = Adding(
    title="Set a rate of match",
    about="What an unpaid hour counts as match: what the program itself pays for such work, else the local market's "
    "rate (2 CFR 200.306(e)).",
    button="Set the rate",
    done="The rate of match is set.",
    back="match-rates",
    here="match-rates",
    form=MatchRateForm,
    write=match_rate_set,
)


@form_page
@page
def rate_new(request: HttpRequest, actor: User) -> HttpResponse:
    """Filled in with a person's newest rate where one is named; the other button figures a rate and keeps nothing."""
    page_opens_to(actor, MONEY, WHAT)
    form = RateForm(request.POST or None, initial={"from_day": _today(actor), **_newest(actor, request)})
    if "figure" in request.POST:
        told = {"adding": RATE, "form": form, "figured": form.figured(), "may_figure": True}
        return render(request, "desk/pay_add.html", told, status=400 if form.errors else 200)
    return _added(request, actor, RATE, form)


def _newest(actor: User, request: HttpRequest) -> dict[str, Any]:
    form = RatePersonForm(request.GET)
    person = asked(form)["person"]
    rate = pay_rates(actor).filter(person__public_id=person).first() if person else None
    return (
        {"person": person} if rate is None else {name: getattr(rate, name) for name in RATE_TERMS} | {"person": person}
    )


@form_page
@page
def policy_new(request: HttpRequest, actor: User) -> HttpResponse:
    initial = {"time_zone": settings.PROGRAM_TIME_ZONE}
    return _added(request, actor, POLICY, PolicyForm(request.POST or None, initial=initial))


@form_page
@page
def overtime_rule_new(request: HttpRequest, actor: User) -> HttpResponse:
    return _added(request, actor, OVERTIME, OvertimeRuleForm(request.POST or None))


@form_page
@page
def comp_time_new(request: HttpRequest, actor: User) -> HttpResponse:
    return _added(request, actor, COMP_TIME, CompTimeForm(request.POST or None))


@form_page
@page
def match_rate_new(request: HttpRequest, actor: User) -> HttpResponse:
    return _added(request, actor, MATCH, MatchRateForm(request.POST or None))


@form_page
@page
def comp_time_ended(request: HttpRequest, actor: User, agreement_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    agreement = comp_time_agreement_get(actor, agreement_id)
    ending = Adding(
        title=f"End the agreement of {agreement.person}",
        about="The last day on which time off takes the place of the premium; end it with a workweek.",
        button="End the agreement",
        done="The agreement has its last day.",
        back="comp-time",
        here="comp-time",
        form=CompTimeEndForm,
        write=partial(comp_time_end, agreement=agreement),
    )
    return _added(request, actor, ending, CompTimeEndForm(request.POST or None, initial={"last_day": _today(actor)}))


@form_page
@page
def try_week_page(request: HttpRequest, actor: User) -> HttpResponse:
    """Figures and keeps nothing; what is typed goes in the body, so that no rate stands in an address."""
    page_opens_to(actor, MONEY, WHAT)
    policy, rule = pay_policy(_today(actor)), overtime_rule(None, _today(actor))
    initial: dict[str, Any] = {"method": policy.overtime_method, "rounding": policy.rounding}
    if rule is not None:
        initial |= {name: getattr(rule, name) for name in ("week_minutes", "day_minutes", "day_double_minutes")}
    form = TryWeekForm(request.POST or None, initial=initial)
    found = form.week() if form.is_bound else None
    told: dict[str, Any] = {"form": form}
    if found:
        week, worked = found
        told |= {"week": week, "pieces": list(zip(worked, week.overtime_by_piece, strict=True))}
    return render(request, "desk/try_week.html", told, status=400 if form.errors else 200)
