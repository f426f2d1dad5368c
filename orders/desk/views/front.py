"""Logging in, and who tried too often."""

from typing import Any

from django.conf import settings
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from orders.common.models import User
from orders.common.selectors import MUST_CHOOSE, has_users, password_is_given
from orders.desk.forms import LoginForm


class Login(LoginView):
    """Django's own login. `next` is followed only within this host."""

    template_name = "desk/login.html"
    authentication_form: type[AuthenticationForm] = LoginForm
    next_page = "signpost"
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Where nobody has a login yet, the first one is made."""
        return super().get(request, *args, **kwargs) if has_users() else redirect("setup-first")

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Who comes with a password that somebody else set chooses an own one first."""
        reply = super().form_valid(form)
        user = form.get_user()
        if isinstance(user, User) and password_is_given(user):
            self.request.session[MUST_CHOOSE] = True
        return reply


def locked_out(request: HttpRequest, reply: HttpResponse | None, credentials: Any) -> HttpResponse:
    """AXES_LOCKOUT_CALLABLE: too many wrong passwords. The API's own reply stands as it is."""
    if request.path.startswith("/api/") and reply is not None:
        return reply
    pause = settings.AXES_COOLOFF_TIME
    told = {"failures": settings.AXES_FAILURE_LIMIT, "minutes": int(pause.total_seconds()) // 60}
    shown = render(request, "desk/locked_out.html", told, status=429)
    shown["Retry-After"] = str(int(pause.total_seconds()))
    return shown
