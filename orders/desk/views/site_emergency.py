"""Changing a site's emergency plan: what crews carry of it without a signal."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, page_opens_to
from orders.desk.site_forms import EmergencyForm
from orders.desk.views.pages import page, tried
from orders.sites.selectors import site_get
from orders.sites.services import site_edit


@require_http_methods(["GET", "HEAD", "POST"])
@page
def emergency_page(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, "Changing a site's emergency plan")
    site, refusal = site_get(site_id), None
    form = EmergencyForm(request.POST) if request.method == "POST" else EmergencyForm.of(site)
    if form.is_bound and form.is_valid():
        stamp, expected = Stamp(by=actor, at=now()), form.cleaned_data["version"] or 0
        refusal = tried(lambda: site_edit(site=site, values=form.values(), expected=expected, stamp=stamp))
        if refusal is None:
            messages.success(request, "The emergency plan is changed; tablets fetch it with their next contact.")
            return redirect("site", site_id)
    wrong = form.is_bound and not form.is_valid()
    status = refusal.status if refusal else 400 if wrong else 200
    told = {"site": site, "form": form, "refusal": refusal}
    return render(request, "desk/site_emergency_edit.html", told, status=status)
