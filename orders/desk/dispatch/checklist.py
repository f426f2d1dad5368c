"""A site's checklist: every question with its answer, and a place to say what was found out."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.navigation import DESK, EVERY_ROLE, page_opens_to
from orders.desk.views.pages import page, tried
from orders.sites.models import Site
from orders.sites.selectors import QuestionState, checklist, site_get
from orders.sites.services.answers import Answered, checklist_answer_all
from orders.workorders.selectors import order_get


class AnswerForm(forms.Form):
    """One question; an empty answer says nothing, and what stands stays."""

    answer = forms.CharField(
        max_length=4_000, required=False, label="What was found out, and from whom", widget=forms.Textarea({"rows": 2})
    )
    stops_work = forms.BooleanField(required=False, label="This stops work until it is settled")
    valid_until = forms.DateField(
        required=False, label="Good until", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )


@dataclass(frozen=True)
class Asked:
    """A question as it stands on a day, and its form."""

    state: QuestionState
    form: AnswerForm

    def said(self) -> Answered | None:
        told = self.form.cleaned_data
        return Answered(self.state.question, **told) if told["answer"].strip() else None


def questions_asked(site: Site, on: date, sent: Mapping[str, Any] | None = None) -> list[Asked]:
    return [Asked(state, AnswerForm(sent, prefix=state.question.code)) for state in checklist(site, on)]


@require_http_methods(["GET", "HEAD", "POST"])
@page
def checklist_page(request: HttpRequest, actor: User, site_id: UUID) -> HttpResponse:
    """`order`: the order that waits for the answers, and is gone back to."""
    page_opens_to(actor, EVERY_ROLE, "The checklists of sites")
    site, stamp, refusal = site_get(site_id), Stamp(by=actor, at=now()), None
    today = stamp.local_date(site.time_zone)
    named = request.POST.get("order") or request.GET.get("order")
    order = order_get(actor, UUID(named), on=today) if named else None
    sent = request.POST if request.method == "POST" else None
    asked = questions_asked(site, order.last_day if order else today, sent)
    if request.method == "POST":
        page_opens_to(actor, DESK, "Answering a checklist")
        if all(one.form.is_valid() for one in asked):
            said = [answer for one in asked if (answer := one.said())]
            refusal = tried(lambda: checklist_answer_all(site=site, answers=said, stamp=stamp))
            if refusal is None:
                messages.success(request, f"{len(said)} answered. What stood before stays on record.")
                return redirect("order", order.public_id) if order else redirect("site-checklist", site_id)
    told = {"site": site, "order": order, "asked": asked, "refusal": refusal, "may_answer": actor.has_role(*DESK)}
    wrong = any(one.form.is_bound and not one.form.is_valid() for one in asked)
    return render(
        request, "desk/dispatch/checklist.html", told, status=refusal.status if refusal else 400 * wrong or 200
    )
