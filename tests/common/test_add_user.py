import io

import pytest
from django.core.management import CommandError, call_command

from orders.common.models import User

pytestmark = pytest.mark.django_db


def _typed(monkeypatch, password):
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{password}\n"))


def test_it_adds_an_administrator_who_may_open_the_administration_pages(monkeypatch, client):
    _typed(monkeypatch, "a long enough phrase")
    call_command("add_user", "first", "--role", "administrator", stdout=io.StringIO())
    user = User.objects.get()
    assert user.check_password("a long enough phrase")
    client.force_login(user)
    assert b"Work orders" in client.get("/admin/").content


@pytest.mark.parametrize(("password", "role"), [("short", "finance"), ("a long enough phrase", "captain")])
def test_it_refuses_and_says_why(monkeypatch, password, role):
    _typed(monkeypatch, password)
    with pytest.raises(CommandError, match="Roles: administrator"):
        call_command("add_user", "first", "--role", role)
    assert not User.objects.exists()
