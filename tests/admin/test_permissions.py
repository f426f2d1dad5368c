"""Who may open, add and edit what in the administration pages."""

import pytest
from django.contrib import admin
from django.urls import reverse

from orders.common.models import AppendOnlyModel
from orders.costs.models import Commitment, Fund, LedgerEntry, PayRate
from orders.crews.models import Person
from orders.supplies.models import StockLot, StockMovement
from tests import build

pytestmark = pytest.mark.django_db
OURS = sorted(
    (model for model in admin.site._registry if model.__module__.startswith("orders.")),
    key=lambda model: model.__name__,
)
RECORDS = [Commitment, LedgerEntry, StockLot, StockMovement]


@pytest.fixture
def request_of(rf):
    def made(*roles):
        request = rf.get("/")
        request.user = build.UserFactory(roles=list(roles), is_staff=True, is_superuser="administrator" in roles)
        return request

    return made


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_nobody_deletes_anything(request_of, model):
    pages = admin.site._registry[model]
    assert not pages.has_delete_permission(request_of("administrator"))
    assert "delete_selected" not in pages.get_actions(request_of("administrator"))


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_no_role_opens_nothing(request_of, model):
    pages = admin.site._registry[model]
    assert not pages.has_view_permission(request_of())
    assert not pages.has_module_permission(request_of())


def test_records_are_there_to_look_at():
    kept = [model for model in OURS if issubclass(model, AppendOnlyModel)]
    assert set(RECORDS) - {StockLot} <= set(kept)


@pytest.mark.parametrize("model", [*RECORDS, *(m for m in OURS if issubclass(m, AppendOnlyModel))])
def test_nobody_adds_or_changes_a_record(request_of, model):
    pages, request = admin.site._registry[model], request_of("administrator", "finance")
    assert pages.has_view_permission(request)
    assert not pages.has_add_permission(request)
    assert not pages.has_change_permission(request)


@pytest.mark.parametrize("model", [Fund, PayRate, LedgerEntry])
def test_money_is_for_finance(request_of, model):
    pages = admin.site._registry[model]
    assert pages.has_view_permission(request_of("finance"))
    for role in ("coordinator", "crew_lead", "pesticide_supervisor"):
        assert not pages.has_view_permission(request_of(role))


def test_finance_has_no_people_pages(request_of):
    assert not admin.site._registry[Person].has_view_permission(request_of("finance"))


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_the_lists_open(client, model):
    client.force_login(build.UserFactory(roles=["administrator"], is_staff=True, is_superuser=True))
    address = reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_changelist")
    assert client.get(address).status_code == 200
    assert client.get(f"{address}?q=a").status_code == 200
