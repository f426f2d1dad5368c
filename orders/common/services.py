"""People who log in."""

from collections.abc import Iterable

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from orders.common.changes import change_record
from orders.common.models import Role, User
from orders.common.models.user import ADMINISTRATOR, FINANCE
from orders.common.rows import Findings
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


def _password_check(user: User, password: str, found: Findings) -> None:
    try:
        validate_password(password, user)
    except ValidationError as error:
        found.need(False, "password", " ".join(error.messages))
