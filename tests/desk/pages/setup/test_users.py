"""Logins and roles for the administrator, own passwords, and the first login of all."""

import threading

import pytest
import time_machine
from django.db import connection, connections
from django.test import Client
from django.urls import reverse

from orders.common.clock import now
from orders.common.errors import NotFound
from orders.common.first_code import first_code, first_code_is
from orders.common.models import FirstTry, User
from orders.common.selectors import password_is_given
from orders.common.services import first_administrator_add, first_code_try
from orders.crews.models import Person
from orders.desk.setup.first_account import PAUSE
from tests import build
from tests.desk.pages.setup.kit_words import page_of, saved

pytestmark = pytest.mark.django_db
PASSWORD, OTHER = "kestrel over the hedge", "thrush under the thorn"


@pytest.fixture
def administrator():
    return build.UserFactory(username="ann", roles=["administrator"])


@pytest.fixture
def office(client, administrator):
    client.force_login(administrator)
    return client


def test_it_opens_to_the_administrator_alone(client, coordinator):
    client.force_login(coordinator)
    assert client.get(reverse("setup-users")).status_code == 403


def test_it_adds_a_login_who_must_choose_an_own_password(office):
    person = build.PersonFactory()
    values = {"username": "lee", "roles": ["crew_lead"], "password": PASSWORD, "person": str(person.public_id)}
    saved(office, reverse("setup-user-new"), values)
    user = User.objects.get(username="lee")
    assert (user.person, sorted(user.role_codes), password_is_given(user)) == (person, ["crew_lead"], True)
    lee = Client()
    lee.post(reverse("login"), {"username": "lee", "password": PASSWORD})
    assert lee.get(reverse("products")).headers["Location"] == reverse("setup-password")
    typed = {"old": PASSWORD, "password": OTHER, "again": OTHER}
    assert lee.post(reverse("setup-password"), typed).headers["Location"] == reverse("signpost")
    assert lee.get(reverse("products")).status_code == 200
    assert not password_is_given(user)


def test_the_administration_pages_are_no_way_round_it(office):
    values = {"username": "lee", "roles": ["administrator"], "password": PASSWORD}
    saved(office, reverse("setup-user-new"), values)
    User.objects.filter(username="lee").update(is_staff=True, is_superuser=True)
    index, lee = reverse("admin:index"), Client()
    asked = lee.get(index, follow=True)
    assert asked.redirect_chain[-1][0] == f"{reverse('login')}?next=%2Fadmin%2F"
    typed = {"username": "lee", "password": PASSWORD}
    assert lee.post(reverse("admin:login"), typed).headers["Location"].startswith(reverse("login"))
    lee.post(reverse("login"), typed)
    assert lee.get(index, follow=True).redirect_chain[-1][0] == reverse("setup-password")
    lee.post(reverse("setup-password"), {"old": PASSWORD, "password": OTHER, "again": OTHER})
    assert lee.get(index).status_code == 200


def test_the_administration_pages_refuse_a_login_without_that_right(client, coordinator):
    client.force_login(coordinator)
    assert client.get(reverse("admin:index"), follow=True).status_code == 403


def test_it_takes_no_weak_password_and_no_slip(office, administrator):
    administrator.set_password(PASSWORD)
    administrator.save()
    office.force_login(administrator)
    for typed, field in (
        ({"old": PASSWORD, "password": "short", "again": "short"}, "password"),
        ({"old": "wrong", "password": OTHER, "again": OTHER}, "old"),
        ({"old": PASSWORD, "password": OTHER, "again": "else"}, "again"),
    ):
        reply = office.post(reverse("setup-password"), typed)
        assert reply.status_code == 400
        assert f'id="id_{field}_error"' in reply.content.decode()


def test_it_keeps_one_administrator(office, administrator):
    reply = office.post(reverse("setup-user", args=[administrator.public_id]), {"roles": ["finance"]})
    assert reply.status_code == 409
    assert "the only administrator" in reply.content.decode()
    assert office.post(reverse("setup-user-deactivate", args=[administrator.public_id])).status_code == 409
    build.UserFactory(roles=["administrator"])
    saved(office, reverse("setup-user", args=[administrator.public_id]), {"roles": ["finance"]})
    assert User.objects.get(username="ann").role_codes == {"finance"}


def test_it_changes_roles_and_person_of_a_login(office):
    user, person = build.UserFactory(roles=["crew_lead"]), Person.objects.get(pk=build.PersonFactory().pk)
    address = reverse("setup-user", args=[user.public_id])
    saved(office, address, {"roles": ["coordinator"], "person": str(person.public_id), "first_name": "Lee"})
    kept = User.objects.get(pk=user.pk)
    assert (kept.role_codes, kept.person, kept.first_name) == (frozenset({"coordinator"}), person, "Lee")
    saved(office, address, {"roles": ["coordinator"], "person": ""})
    assert not User.objects.filter(person__isnull=False).exists()


def test_it_shuts_a_login_out_and_lets_it_in_again(office):
    user = build.UserFactory(roles=["crew_lead"])
    saved(office, reverse("setup-user-deactivate", args=[user.public_id]), {})
    assert not User.objects.get(pk=user.pk).is_active
    saved(office, reverse("setup-user-activate", args=[user.public_id]), {})
    assert User.objects.get(pk=user.pk).is_active


def test_it_keeps_every_password_out_of_the_record(office):
    user = build.UserFactory()
    saved(office, reverse("setup-user-password", args=[user.public_id]), {"password": PASSWORD})
    assert User.objects.get(pk=user.pk).check_password(PASSWORD)
    assert PASSWORD not in page_of(office, "setup-user", user.public_id)


def _first(code, **more):
    return {"code": code, "username": "ann", "password": PASSWORD, "again": PASSWORD, **more}


def test_it_leads_to_the_first_login_where_there_is_none(client):
    assert client.get(reverse("signpost")).url.startswith(reverse("login"))
    assert client.get(reverse("login")).url == reverse("setup-first")


def test_it_makes_the_first_login_by_the_code_and_is_gone_then(client):
    assert client.post(reverse("setup-first"), _first(first_code().lower())).url == reverse("setup")
    assert User.objects.get().role_codes == {"administrator", "coordinator"}
    assert client.get(reverse("setup")).status_code == 200
    for visitor in (client, Client()):
        assert visitor.get(reverse("setup-first")).status_code == 404
        assert visitor.post(reverse("setup-first"), _first(first_code())).status_code == 404


def test_it_makes_no_login_without_the_code(client):
    reply = client.post(reverse("setup-first"), _first("AAAA-BBBB-CCCC"))
    assert reply.status_code == 400
    assert 'id="id_code_error"' in reply.content.decode()
    assert not User.objects.exists()


def test_it_stops_listening_after_ten_wrong_codes(client):
    for _ in range(10):
        client.post(reverse("setup-first"), _first("wrong"))
    assert client.post(reverse("setup-first"), _first(first_code())).status_code == 429
    assert not User.objects.exists()
    with time_machine.travel(now() + PAUSE, tick=False):
        assert client.post(reverse("setup-first"), _first(first_code())).status_code == 302


@pytest.mark.django_db(transaction=True)
def test_it_counts_every_wrong_code_of_many_at_once():
    """SQLite's tests may share one connection in memory: there they are asked one after another."""
    answers = []

    def ask():
        answers.append(first_code_try(text="wrong", at=now(), most=10, pause=PAUSE))

    def ask_and_hang_up():
        try:
            ask()
        finally:
            connections.close_all()

    if connection.vendor == "sqlite":
        for _ in range(14):
            ask()
    else:
        threads = [threading.Thread(target=ask_and_hang_up) for _ in range(14)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert (answers.count(False), answers.count(None)) == (10, 4)
    assert FirstTry.objects.count() == 10


def test_it_says_what_is_wrong_with_the_first_password(client):
    reply = client.post(reverse("setup-first"), _first(first_code(), password="short", again="short"))
    assert reply.status_code == 400
    assert 'id="id_password_error"' in reply.content.decode()


def test_it_takes_a_code_from_the_settings_if_it_is_long_enough(settings):
    settings.FIRST_RUN_CODE = "Seven herons by the mill"
    assert first_code_is("seven herons by the mill")
    settings.FIRST_RUN_CODE = "short"
    assert not first_code_is("short")


@pytest.mark.django_db(transaction=True)
def test_it_makes_one_login_of_two_at_once():
    """SQLite's tests may share one connection in memory: there the second is asked after the first."""
    made, refused = [], []

    def ask(name):
        try:
            made.append(first_administrator_add(stamp=build.stamp(), username=name, password=PASSWORD))
        except NotFound:
            refused.append(name)

    def ask_and_hang_up(name):
        try:
            ask(name)
        finally:
            connections.close_all()

    if connection.vendor == "sqlite":
        for name in ("ann", "ben"):
            ask(name)
    else:
        threads = [threading.Thread(target=ask_and_hang_up, args=[name]) for name in ("ann", "ben")]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    assert (len(made), len(refused), User.objects.count()) == (1, 1, 1)
