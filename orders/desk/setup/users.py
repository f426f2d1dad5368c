"""Logins and their roles, for the administrator; and everybody's own password."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from orders.common.errors import Refusal
from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR
from orders.common.selectors import MUST_CHOOSE, roles_all, user_get, users_all
from orders.common.services import (
    user_activate,
    user_add,
    user_deactivate,
    user_edit,
    user_password_change,
    user_password_give,
    user_roles_change,
)
from orders.common.transactions import writing
from orders.crews.models import Person
from orders.crews.selectors import people_of_users, people_without_login, person_get
from orders.crews.services import person_edit
from orders.desk.navigation import page_opens_to
from orders.desk.setup.kit import (
    Act,
    Cell,
    Column,
    EditPage,
    Listing,
    act_done,
    below_done,
    choices_of,
    edit_done,
    edit_shown,
    form_page,
    in_use_cut,
    list_shown,
    stamped,
)
from orders.desk.views.pages import page, tried

ADMINISTRATORS = frozenset({ADMINISTRATOR})
WHAT = "Logins and roles"
PURPOSE = (
    "Who may log in, and what each may see and do. A login without a role opens nothing. A crew lead's login is linked "
    "to a person: it opens the orders of the crews that the person is on."
)
HOW_LONG = "Ten characters or more. Several words that mean nothing together are good."


def _new_password(label: str) -> forms.CharField:
    widget = forms.PasswordInput(attrs={"autocomplete": "new-password"})
    return forms.CharField(label=label, widget=widget, strip=False, max_length=128, help_text=HOW_LONG)


class UserForm(forms.Form):
    username = forms.CharField(
        max_length=150, label="Username", help_text="Letters, digits, dots and hyphens. It stays: records name it."
    )
    first_name = forms.CharField(max_length=150, required=False, label="First name")
    last_name = forms.CharField(max_length=150, required=False, label="Last name")
    email = forms.EmailField(required=False, label="Mail", help_text="Reminders go here.")

    def __init__(self, *args: Any, person: Person | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["roles"] = forms.MultipleChoiceField(
            choices=[(role.code, role.name) for role in roles_all()],
            widget=forms.CheckboxSelectMultiple,
            label="Roles",
            help_text="Several may be given: what any of them opens is open.",
        )
        listed = [*([person] if person else []), *people_without_login()]
        self.fields["person"] = forms.ChoiceField(
            choices=choices_of(listed, "Nobody"),
            required=False,
            label="Person",
            help_text="Needed for a crew lead, and for a licensed person who signs records.",
        )

    def names(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("first_name", "last_name", "email")}


class NewUserForm(UserForm):
    password = _new_password("Password for the first login")


class GivenForm(forms.Form):
    password = _new_password("New password")


class OwnPasswordForm(forms.Form):
    old = forms.CharField(
        label="Password now", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "current-password"})
    )
    password = _new_password("New password")
    again = forms.CharField(
        label="New password once more", strip=False, widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )

    def clean(self) -> dict[str, Any]:
        told = self.cleaned_data
        if told.get("password") and told.get("again") and told["password"] != told["again"]:
            self.add_error("again", "The two differ.")
        return told


@require_safe
@page
def users_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, ADMINISTRATORS, WHAT)
    people = people_of_users()
    columns = {
        "username": Column("Login", "username", cell=_name_cell),
        "roles": Column("Roles", cell=lambda row: ", ".join(role.name for role in row.roles.all())),
        "person": Column("Person", cell=lambda row: people.get(row.pk, "")),
        "email": Column("Mail", "email", cell=lambda row: row.email),
        "last": Column("Last login", "last_login", is_number=True, cell=_last_login),
    }
    listing = Listing(
        title="Logins and roles",
        about="Who may log in, and what each may see and do.",
        purpose=PURPOSE,
        columns=columns,
        usual="username",
        searched=("username", "first_name", "last_name", "email"),
        cuts=(in_use_cut(),),
        new=reverse("setup-user-new"),
        new_words="Add a login",
    )
    return list_shown(request, listing, users_all())


def _name_cell(row: User) -> Cell:
    quiet = row.get_full_name() if row.is_active else "no longer in use"
    return Cell(row.username, reverse("setup-user", args=[row.public_id]), quiet)


def _last_login(row: User) -> str:
    return f"{row.last_login:%b %-d, %Y}" if row.last_login else "never"


@form_page
@page
def user_new(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, ADMINISTRATORS, WHAT)
    form = NewUserForm(request.POST or None)

    @writing()
    def write() -> str:
        told, stamp = form.cleaned_data, stamped(actor)
        user = user_add(
            stamp=stamp, username=told["username"], password=told["password"], roles=told["roles"], **form.names()
        )
        user_password_give(user=user, password=told["password"], stamp=stamp)
        _linked(user, told["person"], actor)
        return f"{user.username} may log in, and chooses an own password then. Tell the first one in person."

    words = EditPage("A new login", "Add the login", reverse("setup-users"), "Logins and roles", PURPOSE)
    return edit_done(request, words, form, write)


def _linked(user: User, person_id: str, actor: User) -> None:
    """Make the person the login's, and no other's."""
    held = Person.objects.filter(user=user).first()
    wanted = person_get(UUID(person_id)) if person_id else None
    if held is not None and held != wanted:
        person_edit(person=held, values={"user": None}, expected=held.version, stamp=stamped(actor))
    if wanted is not None and held != wanted:
        person_edit(person=wanted, values={"user": user}, expected=wanted.version, stamp=stamped(actor))


def _words(user: User) -> EditPage:
    named = [user.public_id]
    away = Act(
        "Take out of use",
        reverse("setup-user-deactivate", args=named),
        "Nobody logs in with it any more. What was done with it stays on record; it can be put back.",
    )
    back = Act("Put back in use", reverse("setup-user-activate", args=named))
    return EditPage(
        title=user.username,
        button="Save",
        back=reverse("setup-users"),
        back_words="Logins and roles",
        purpose=PURPOSE,
        row=user,
        acts=[away if user.is_active else back],
        below="desk/setup/user_password.html",
        more={"given_form": GivenForm(auto_id="given_%s"), "user_shown": user},
    )


def _form_of(user: User) -> UserForm:
    person = Person.objects.filter(user=user).first()
    names = {name: getattr(user, name) for name in ("first_name", "last_name", "email")}
    linked = str(person.public_id) if person else ""
    form = UserForm(initial={**names, "roles": sorted(user.role_codes), "person": linked}, person=person)
    del form.fields["username"]
    return form


@form_page
@page
def user_page(request: HttpRequest, actor: User, user_id: UUID) -> HttpResponse:
    page_opens_to(actor, ADMINISTRATORS, WHAT)
    user = user_get(user_id)
    form = _form_of(user)
    if request.method == "POST":
        form = UserForm(request.POST, person=Person.objects.filter(user=user).first())
        del form.fields["username"]

    @writing()
    def write() -> str:
        user_edit(user=user, values=form.names(), stamp=stamped(actor))
        user_roles_change(user=user_get(user_id), roles=form.cleaned_data["roles"], stamp=stamped(actor))
        _linked(user, form.cleaned_data["person"], actor)
        return f"{user.username} is saved."

    return edit_done(request, _words(user), form, write)


@require_POST
@page
def user_used(request: HttpRequest, actor: User, user_id: UUID, is_active: bool) -> HttpResponse:
    page_opens_to(actor, ADMINISTRATORS, WHAT)
    user = user_get(user_id)

    def write(expected: int, reason: str) -> str:
        (user_activate if is_active else user_deactivate)(user=user, stamp=stamped(actor, reason))
        return f"{user.username} is {'back in use' if is_active else 'taken out of use'}."

    def shown(refusal: Refusal) -> HttpResponse:
        return edit_shown(request, _words(user), _form_of(user), refusal)

    return act_done(request, reverse("setup-user", args=[user.public_id]), write, shown)


@require_POST
@page
def user_password_given(request: HttpRequest, actor: User, user_id: UUID) -> HttpResponse:
    page_opens_to(actor, ADMINISTRATORS, WHAT)
    user, form = user_get(user_id), GivenForm(request.POST, auto_id="given_%s")

    def write() -> str:
        user_password_give(user=user, password=form.cleaned_data["password"], stamp=stamped(actor))
        return f"{user.username} has a new password for one login, and chooses an own one then."

    return below_done(request, _words(user), {"given_form": form}, _form_of(user), form, write)


@form_page
@page
def own_password(request: HttpRequest, actor: User) -> HttpResponse:
    """Everybody's own. Who logged in with a password that somebody else set comes here first."""
    form = OwnPasswordForm(request.POST or None)
    is_given = bool(request.session.get(MUST_CHOOSE))
    words = EditPage(
        title="Your password",
        button="Change it",
        back=reverse("signpost"),
        back_words="Start",
        purpose="A password that you alone know: what you enter here stands under your name.",
        notices=["The password that you logged in with was set for you. Choose your own one now."] if is_given else [],
        trail=False,
    )
    if not (form.is_bound and form.is_valid()):
        return edit_shown(request, words, form)
    told = form.cleaned_data
    refusal = tried(
        lambda: user_password_change(user=actor, old=told["old"], password=told["password"], stamp=stamped(actor))
    )
    if refusal is not None:
        return edit_shown(request, words, form, refusal)
    request.session.pop(MUST_CHOOSE, None)
    update_session_auth_hash(request, actor)
    messages.success(request, "Your password is changed.")
    return redirect("signpost")
