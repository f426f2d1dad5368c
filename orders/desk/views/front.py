"""Logging in and out, and the signpost at the root."""

from typing import Any

from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.forms import LoginForm
from orders.desk.navigation import EVERY_ROLE, MONEY, OFFICE
from orders.desk.views.pages import page


@require_safe
@page
def signpost(request: HttpRequest, actor: User) -> HttpResponse:
    """To the page that a person's role begins with."""
    if actor.has_role(*MONEY):
        return redirect("cost-report")
    return redirect("patches" if actor.has_role(*OFFICE) else "products" if actor.has_role(*EVERY_ROLE) else "api:docs")


class Login(LoginView):
    """Django's own login. `next` is followed only within this host."""

    template_name = "desk/login.html"
    authentication_form: type[AuthenticationForm] = LoginForm
    next_page = "signpost"
    redirect_authenticated_user = True


def locked_out(request: HttpRequest, reply: HttpResponse | None, credentials: Any) -> HttpResponse:
    """AXES_LOCKOUT_CALLABLE: too many wrong passwords. The API's own reply stands as it is."""
    if request.path.startswith("/api/") and reply is not None:
        return reply
    pause = settings.AXES_COOLOFF_TIME
    told = {"failures": settings.AXES_FAILURE_LIMIT, "minutes": int(pause.total_seconds()) // 60}
    shown = render(request, "desk/locked_out.html", told, status=429)
    shown["Retry-After"] = str(int(pause.total_seconds()))
    return shown
