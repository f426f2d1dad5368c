"""People who log in."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, NotFound, WrongState
from orders.common.first_code import first_code_is
from orders.common.models import FirstTry, Role, User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, FINANCE
from orders.common.rows import Findings, unversioned_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing


@writing()
def user_add(
    *,
    stamp: Stamp,
    username: str,
    password: str,
    roles: Iterable[str],
    email: str = "",
    first_name: str = "",
    last_name: str = "",
) -> User:
    """Add a user with roles by code. The password is checked, kept as a hash only, and never recorded."""
    user = User(username=username, email=email, first_name=first_name, last_name=last_name)
    held = list(Role.objects.filter(code__in=set(roles)).order_by("code"))
    found = Findings()
    unknown = sorted(set(roles) - {role.code for role in held})
    found.need(not unknown, "roles", f"No such role: {', '.join(unknown)}.")
    _password_check(user, password, found)
    user.set_password(password)
    found.row(user)
    found.refuse("The user was not added.")
    user.save(force_insert=True)
    user_roles_set(user, held)
    facts = {"username": username, "email": email, "roles": [role.code for role in held]}
    change_record(stamp=stamp, verb="user_add", entity=user, after=facts)
    return user


def user_roles_set(user: User, roles: Iterable[Role]) -> None:
    """Set the roles, and with them who may open the admin pages: administrators, and finance for its own tables."""
    user.roles.set(roles)
    user.__dict__.pop("_role_codes", None)
    user.is_superuser = ADMINISTRATOR in user.role_codes
    user.is_staff = user.is_superuser or FINANCE in user.role_codes
    user.save(update_fields=["is_staff", "is_superuser"])


@writing()
def user_edit(*, user: User, values: dict[str, Any], stamp: Stamp) -> User:
    """Change a login's names and mail. What it is called to log in stays: records name it."""
    return unversioned_edit(user, stamp=stamp, verb="user_edit", read=None, values=values)


@writing()
def user_roles_change(*, user: User, roles: Iterable[str], stamp: Stamp) -> User:
    """Give a login its roles by code. Somebody stays who may give them."""
    wanted = set(roles)
    held = list(Role.objects.filter(code__in=wanted).order_by("code"))
    unknown = sorted(wanted - {role.code for role in held})
    if unknown:
        raise Invalid("The roles were not changed.", [FieldError("roles", f"No such role: {', '.join(unknown)}.")])
    before = sorted(user.role_codes)
    if before == sorted(wanted):
        return user
    if ADMINISTRATOR in before and ADMINISTRATOR not in wanted:
        _other_administrator_check(user, "roles")
    user_roles_set(user, held)
    told = {"roles": sorted(wanted)}
    change_record(stamp=stamp, verb="user_roles_change", entity=user, before={"roles": before}, after=told)
    return user


@writing()
def user_deactivate(*, user: User, stamp: Stamp) -> User:
    """Nobody logs in with it any more, nor by a token; what was done with it stays on record."""
    _other_administrator_check(user, "")
    return unversioned_edit(user, stamp=stamp, verb="user_deactivate", read=None, values={"is_active": False})


@writing()
def user_activate(*, user: User, stamp: Stamp) -> User:
    return unversioned_edit(user, stamp=stamp, verb="user_activate", read=None, values={"is_active": True})


def _other_administrator_check(user: User, field: str) -> None:
    others = User.objects.filter(is_active=True, roles__code=ADMINISTRATOR).exclude(pk=user.pk)
    if ADMINISTRATOR in user.role_codes and user.is_active and not others.exists():
        message = "This is the only administrator. Make another one first."
        raise WrongState("The login was not changed.", [FieldError(field, message)])


PASSWORD_GIVEN, PASSWORD_CHANGED = "user_password_give", "user_password_change"


@writing()
def user_password_give(*, user: User, password: str, stamp: Stamp) -> User:
    """A password for one login, set by somebody else: whoever logs in with it must choose an own one first."""
    return _password_put(user, password, PASSWORD_GIVEN, stamp)


@writing()
def user_password_change(*, user: User, old: str, password: str, stamp: Stamp) -> User:
    """An own password in the place of the old one."""
    found = Findings()
    found.need(user.check_password(old), "old", "This is not the password that you have now.")
    found.need(old != password, "password", "Choose another one than the one that you have now.")
    found.refuse("The password was not changed.")
    return _password_put(user, password, PASSWORD_CHANGED, stamp)


def _password_put(user: User, password: str, verb: str, stamp: Stamp) -> User:
    found = Findings()
    _password_check(user, password, found)
    found.refuse("The password was not changed.")
    user.set_password(password)
    user.save(update_fields=["password"])
    change_record(stamp=stamp, verb=verb, entity=user)
    return user


@writing()
def first_administrator_add(*, stamp: Stamp, username: str, password: str, email: str = "") -> User:
    """The first login of a program that has none. Writers go one after another, so that of two at once one is first."""
    if User.objects.exists():
        raise NotFound("This program has its first login already.")
    roles = [ADMINISTRATOR, COORDINATOR]
    return user_add(stamp=stamp, username=username, password=password, roles=roles, email=email)


@writing()
def first_code_try(*, text: str, at: datetime, most: int, pause: timedelta) -> bool | None:
    """Whether it is the code of the first login; None, and nothing looked at, after `most` wrong ones within the pause.
    Writers go one after another, so that none of many at once goes uncounted."""
    FirstTry.objects.filter(at__lte=at - pause).delete()
    if FirstTry.objects.count() >= most:
        return None
    if first_code_is(text):
        return True
    FirstTry.objects.create(at=at)
    return False


def _password_check(user: User, password: str, found: Findings) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        found.need(False, "password", " ".join(error.messages))
