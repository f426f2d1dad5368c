import json

import pytest

from orders.common.errors import Invalid
from orders.common.models import Change, User
from orders.common.services import user_add

pytestmark = pytest.mark.django_db
PASSWORD = "a-long-enough-phrase"


def test_it_adds_a_user_who_can_log_in_and_holds_the_roles(stamp):
    user = user_add(stamp=stamp, username="ines", password=PASSWORD, roles=["coordinator", "finance"])
    kept = User.objects.get(username="ines")
    assert kept.check_password(PASSWORD)
    assert kept.role_codes == {"coordinator", "finance"}
    assert user.has_role("finance")


@pytest.mark.parametrize(
    ("role", "staff", "superuser"),
    [("administrator", True, True), ("finance", True, False), ("coordinator", False, False)],
)
def test_it_opens_the_admin_pages_by_role(stamp, role, staff, superuser):
    user = user_add(stamp=stamp, username="ines", password=PASSWORD, roles=[role])
    assert (user.is_staff, user.is_superuser) == (staff, superuser)


def test_it_never_records_the_password(stamp):
    user = user_add(stamp=stamp, username="ines", password=PASSWORD, roles=["finance"])
    change = Change.objects.get(entity_id=user.public_id)
    assert PASSWORD not in json.dumps(change.after)
    assert user.password not in json.dumps(change.after)


@pytest.mark.parametrize(
    ("field", "wrong"),
    [("password", "short"), ("roles", ["wizard"]), ("email", "not an address"), ("username", "")],
)
def test_it_names_the_field_that_is_wrong_and_adds_nobody(stamp, field, wrong):
    right = {"username": "ines", "password": PASSWORD, "roles": ["finance"], "email": "ines@example.org"}
    with pytest.raises(Invalid) as refusal:
        user_add(stamp=stamp, **right | {field: wrong})
    assert [error.field for error in refusal.value.errors] == [field]
    assert not User.objects.filter(username="ines").exists()


def test_it_refuses_a_name_that_is_taken(stamp):
    user_add(stamp=stamp, username="ines", password=PASSWORD, roles=[])
    with pytest.raises(Invalid, match="not added"):
        user_add(stamp=stamp, username="ines", password=PASSWORD, roles=[])
