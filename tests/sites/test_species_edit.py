"""The administrator's page of a species: an answer about re-rooting stands with its source."""

import pytest
from django.urls import reverse

from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def administrator(client):
    user = build.UserFactory(roles=["administrator"], is_staff=True, is_superuser=True)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def answered(client, **changed):
    """The species after its form was sent with these changes."""
    species = build.SpeciesFactory()
    address = reverse("admin:sites_species_change", args=[species.pk])
    form = client.get(address).context["adminform"].form
    sent = {bound.html_name: "on" if bound.value() is True else bound.value() for bound in form}
    told = {name: value for name, value in (sent | changed).items() if value not in (None, False, "")}
    client.post(address, told)
    species.refresh_from_db()
    return species.pulled_stems_reroot, species.reroot_source


def test_it_keeps_an_answer_with_its_source(administrator):
    told = answered(administrator, pulled_stems_reroot="yes", reroot_source="common practice")
    assert told == ("yes", "common practice")


def test_it_refuses_an_answer_without_a_source(administrator):
    assert answered(administrator, pulled_stems_reroot="yes") == ("unknown", "")


def days_of(client, **changed):
    """The species' leaf drop after its form was sent with these changes."""
    answered(client, **changed)
    species = build.SpeciesFactory()
    species.refresh_from_db()
    return species.leaf_drop_month, species.leaf_drop_day


def test_it_keeps_a_day_with_its_source(administrator):
    assert days_of(administrator, leaf_drop_month=12, leaf_drop_day=5, leaf_drop_source="site log") == (12, 5)


@pytest.mark.parametrize("wrong", [{"leaf_drop_source": ""}, {"leaf_drop_day": 40}, {"leaf_drop_day": ""}])
def test_it_refuses_a_day_that_is_none_or_comes_from_nowhere(administrator, wrong):
    told = {"leaf_drop_month": 12, "leaf_drop_day": 5, "leaf_drop_source": "site log", **wrong}
    assert days_of(administrator, **told) == (None, None)
