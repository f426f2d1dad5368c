"""Every list and every row's page opens, for the administrator, with a row in it."""

import inspect
from typing import Any

import factory
import pytest
from django.contrib import admin
from django.urls import reverse

from orders.common.models import Change, Role
from tests import build

pytestmark = pytest.mark.django_db

MADE: dict[Any, Any] = {
    vars(made)["_meta"].model: made
    for _, made in inspect.getmembers(build, inspect.isclass)
    if issubclass(made, factory.django.DjangoModelFactory)
}
LISTED = [model for model in admin.site._registry if model.__module__.startswith("orders.")]


@pytest.fixture
def looking(client):
    client.force_login(build.UserFactory(roles=["administrator", "finance"], is_staff=True, is_superuser=True))
    return client


def test_it_lists_what_the_design_says_is_only_to_look_at():
    names = {model.__name__ for model in LISTED}
    assert {"WorkOrder", "CloseOut", "PlanRun", "Visit", "StockMovement", "LedgerEntry", "Estimate"} <= names


@pytest.mark.parametrize("model", [m for m in LISTED if m in MADE], ids=lambda model: model.__name__)
def test_it_opens_the_list_and_the_row(looking, model):
    row = MADE[model]()
    address = f"admin:{model._meta.app_label}_{model._meta.model_name}"
    assert looking.get(reverse(f"{address}_changelist")).status_code == 200
    assert looking.get(reverse(f"{address}_change", args=[row.pk])).status_code == 200


def test_it_leaves_no_list_unopened():
    assert {model for model in LISTED if model not in MADE} <= {Change, Role}
