"""The program's own rules for work outside. What the law or a label demands is no setting."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.field_forms import PolicyForm
from orders.desk.navigation import DESK, GROUND, page_opens_to
from orders.desk.views.pages import page, tried
from orders.field.selectors.policy import field_policy
from orders.field.services.policy import field_policy_set


@require_http_methods(["GET", "HEAD", "POST"])
@page
def policy_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, "The page of field policy")
    policy, refusal = field_policy(), None
    form = PolicyForm(request.POST or None, instance=field_policy(), initial={"version": policy.version})
    if request.method == "POST":
        page_opens_to(actor, DESK, "Changing the field policy")
        if form.is_valid():
            values = dict(form.cleaned_data)
            expected, stamp = values.pop("version"), Stamp(by=actor, at=now())
            refusal = tried(lambda: field_policy_set(values=values, expected=expected, stamp=stamp))
            if refusal is None:
                messages.success(request, "The policy is changed. Tablets take it up at their next contact.")
                return redirect("field-policy")
    told = {"policy": policy, "form": form, "refusal": refusal, "may_edit": actor.has_role(*DESK)}
    status = refusal.status if refusal else 400 if form.errors else 200
    return render(request, "desk/field_policy.html", told, status=status)
