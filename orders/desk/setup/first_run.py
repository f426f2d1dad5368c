"""The guide through setting a program up: what is done, what is missing, and the page that does it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.desk.navigation import DESK, MONEY, OFFICE, page_opens_to
from orders.desk.setup.first_run_facts import facts_now
from orders.desk.setup.first_run_steps import next_step, stages
from orders.desk.setup.kit import stamped
from orders.desk.setup.people import today_of
from orders.desk.setup.reference import reference_load
from orders.desk.views.pages import page, tried


@require_safe
@page
def guide_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, "The set-up guide")
    return _shown(request, actor, None)


def _shown(request: HttpRequest, actor: User, refusal: Refusal | None) -> HttpResponse:
    today = today_of(actor)
    found = stages(facts_now(today), today)
    steps = [step for stage in found for step in stage.steps]
    told = {
        "stages": found,
        "next": next_step(found),
        "done": sum(step.state == "done" for step in steps),
        "needed": sum(not step.is_optional for step in steps),
        "needed_done": sum(step.state == "done" for step in steps if not step.is_optional),
        "may_edit": actor.has_role(*DESK),
        "may_pay": actor.has_role(*MONEY),
        "refusal": refusal,
    }
    return render(request, "desk/setup/guide.html", told, status=refusal.status if refusal else 200)


@require_POST
@page
def reference_loaded(request: HttpRequest, actor: User) -> HttpResponse:
    """The reference methods and rates; the draft book is looked through next."""
    page_opens_to(actor, DESK, "Loading the reference methods and rates")
    books = []
    refusal = tried(lambda: books.append(reference_load(stamp=stamped(actor))))
    if refusal is not None:
        return _shown(request, actor, refusal)
    messages.success(
        request,
        f"{books[0]} is a draft with {books[0].rates.count()} rows. Each row names its source: look them through, set "
        "the standard rates of the roles, then put the book in force.",
    )
    return redirect("setup")
