"""The first login of a program that has none: asked for once, behind a code, and gone for good afterwards."""

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache

from orders.common.clock import now
from orders.common.errors import FieldError, Invalid, NotFound, Refusal
from orders.common.selectors import has_users
from orders.common.services import first_administrator_add, first_code_try
from orders.common.stamp import Stamp
from orders.desk.setup.kit import form_page, refusal_placed
from orders.desk.setup.users import HOW_LONG
from orders.desk.views.pages import refusal_page

BACKEND = "django.contrib.auth.backends.ModelBackend"
MOST_TRIES = 10
PAUSE = timedelta(minutes=10)
NOT_THE_CODE = "This is not the code that the server printed when it started."


class TooManyTries(Refusal):
    """The code was typed wrong too often."""

    code = "too_many_tries"
    title = "Too many tries"
    status = 429


class FirstForm(forms.Form):
    code = forms.CharField(
        max_length=80,
        label="Set-up code",
        help_text="The server prints it when it starts and nobody has a login yet.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    username = forms.CharField(
        max_length=150, label="Username", widget=forms.TextInput(attrs={"autocomplete": "username"})
    )
    email = forms.EmailField(required=False, label="Mail", help_text="Reminders go here.")
    password = forms.CharField(
        label="Password",
        strip=False,
        max_length=128,
        help_text=HOW_LONG,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        label="Password once more",
        strip=False,
        max_length=128,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> dict[str, Any]:
        told = self.cleaned_data
        if told.get("password") and told.get("again") and told["password"] != told["again"]:
            self.add_error("again", "The two differ.")
        return told


@form_page
@never_cache
def first_page(request: HttpRequest) -> HttpResponse:
    if has_users():
        return refusal_page(request, NotFound("There is no such page."))
    form = FirstForm(request.POST or None)
    if not (form.is_bound and form.is_valid()):
        return _shown(request, form, None)
    try:
        user = _made(form.cleaned_data)
    except NotFound as gone:
        return refusal_page(request, gone)
    except Refusal as refusal:
        return _shown(request, form, refusal)
    login(request, user, backend=BACKEND)
    return redirect("setup")


def _made(told: dict[str, Any]) -> Any:
    _code_check(told["code"])
    stamp = Stamp(by=None, at=now(), reason="The first login of the program.")
    return first_administrator_add(
        stamp=stamp, username=told["username"], password=told["password"], email=told["email"]
    )


def _code_check(text: str) -> None:
    """A wrong code is counted, whoever sends it."""
    is_right = first_code_try(text=text, at=now(), most=MOST_TRIES, pause=PAUSE)
    if is_right is None:
        raise TooManyTries("The code was wrong too often. Wait ten minutes, then try again.")
    if not is_right:
        raise Invalid("Nothing was made.", [FieldError("code", NOT_THE_CODE)])


def _shown(request: HttpRequest, form: FirstForm, refusal: Refusal | None) -> HttpResponse:
    left = refusal_placed(form, refusal) if refusal else []
    told = {"form": form, "refusal": refusal, "left": left}
    status = refusal.status if refusal else 400 if form.is_bound and form.errors else 200
    return render(request, "desk/setup/first.html", told, status=status)
