"""What every page shares: a login, fresh figures, and refusals told as a page."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache

from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.selectors import MUST_CHOOSE

Rest = ParamSpec("Rest")


def page(
    view: Callable[Concatenate[HttpRequest, User, Rest], HttpResponseBase],
) -> Callable[Concatenate[HttpRequest, Rest], HttpResponseBase]:
    """A page for people who are logged in; no browser keeps a copy of it. The view is handed who asks."""

    @never_cache
    @login_required
    @wraps(view)
    def shown(request: HttpRequest, /, *args: Rest.args, **kwargs: Rest.kwargs) -> HttpResponseBase:
        actor = request.user
        assert isinstance(actor, User)  # login_required lets nobody else through
        if request.session.get(MUST_CHOOSE) and request.path != reverse("setup-password"):
            return redirect("setup-password")
        try:
            return view(request, actor, *args, **kwargs)
        except Refusal as refusal:
            return refusal_page(request, refusal)

    return shown


def refusal_page(request: HttpRequest, refusal: Refusal) -> HttpResponse:
    told = {"status": refusal.status, "title": refusal.title, "detail": refusal.detail, "errors": refusal.errors}
    return render(request, "desk/error.html", told, status=refusal.status)


def tried(write: Callable[[], object]) -> Refusal | None:
    """The refusal of a write, for a page that shows it beside the form."""
    try:
        write()
    except Refusal as refused:
        return refused
    return None


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """CSRF_FAILURE_VIEW: most often a form that stood open since before a login or a logout."""
    told = {
        "status": 403,
        "title": "This form is out of date",
        "detail": "Nothing was changed. Go back, load the page again, and send the form once more.",
    }
    return render(request, "desk/error.html", told, status=403)
