"""An estimate tried under other conditions. All that is asked stands in the address; nothing is stored."""

from datetime import date
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.crewday import day_work_minutes
from estimating.labels import THE_LAW, Finding
from orders import flow
from orders.common.clock import now
from orders.common.errors import Invalid
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.arithmetic import day_lines, pace_lines
from orders.desk.cautions import DECIDES, cautions
from orders.desk.navigation import OFFICE, page_opens_to
from orders.desk.try_form import ROLE, TryForm
from orders.desk.try_words import (
    ACCLIMATIZATION_SOURCE,
    WORK_REST_ADDRESS,
    WORK_REST_SOURCE,
    charts,
    groups,
    heat,
    reasons,
)
from orders.desk.views.pages import page
from orders.estimates.models import Estimate
from orders.estimates.selectors import estimate_get
from orders.estimates.trying import Tried, day_of, mixes_to_try, roles_to_try
from orders.supplies.selectors import product_names


@require_safe
@page
def try_page(request: HttpRequest, actor: User, estimate_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, "The page of trials")
    estimate = estimate_get(estimate_id)
    today = Stamp(by=actor, at=now()).local_date(estimate.survey.patch.site.time_zone)
    own, day, offered = roles_to_try(estimate, today), day_of(estimate), mixes_to_try(estimate)
    form = TryForm(request.GET.dict(), own=own, day=day, mixes=offered, own_mix=estimate.mix)
    told = _tried(form, estimate, today) if form.is_bound else {}
    fields = list(form)
    told |= {
        "estimate": estimate,
        "patch": estimate.survey.patch,
        "form": form,
        "crew_fields": [field for field in fields if field.name.startswith(ROLE)],
        "day_fields": [field for field in fields if not field.name.startswith(ROLE)],
        "wrong": [field for field in fields if field.errors],
        "today": today,
    }
    return render(request, "desk/estimate_try.html", told, status=400 if form.errors else 200)


def _tried(form: TryForm, estimate: Estimate, today: date) -> dict[str, Any]:
    """What the page tells of the trial; nothing where something asked is wrong, which the form then says."""
    if not form.is_valid():
        return {}
    try:
        tried, findings = flow.try_estimate(estimate=estimate, asked=form.trial(), on=today)
    except Invalid as refused:
        form.take(refused)
        return {}
    return _told(tried, findings)


def _told(tried: Tried, findings: tuple[Finding, ...]) -> dict[str, Any]:
    names = product_names([*tried.old.products_ul, *tried.variant.products_ul])
    told: dict[str, Any] = {
        "tried": tried,
        "names": names,
        "variant": tried.variant,
        "findings": findings,
        "the_law": THE_LAW,
        "heat": heat(tried, day_work_minutes(tried.day)),
        "work_rest_source": WORK_REST_SOURCE,
        "work_rest_address": WORK_REST_ADDRESS,
        "acclimatization_source": ACCLIMATIZATION_SOURCE,
        "cautions": cautions(tried.estimate),
        "decides": DECIDES,
    }
    if tried.new is None or tried.told is None:
        return told
    return told | {
        "groups": groups(tried.old, tried.new, names),
        "charts": charts(tried.old, tried.new),
        "reasons": reasons(tried.estimate.result, tried.told),
        "pace": pace_lines(tried.told),
        "day_lines": day_lines(tried.told),
    }
