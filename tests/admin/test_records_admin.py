"""Records and rules to look at; permits to add, with their record."""

import pytest
from django.urls import reverse

from orders.common.models import Change
from orders.supplies.models import VolunteerPermit
from orders.workorders.models import RecordProfile
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def administrator(client):
    user = build.UserFactory(roles=["administrator"], is_staff=True, is_superuser=True)
    client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
    return user


@pytest.mark.parametrize("model", ["applicationrecord", "recordprofile"])
def test_it_shows_records_and_rules_and_lets_nobody_change_them(client, administrator, model):
    record = build.ApplicationRecordFactory()
    row = record if model == "applicationrecord" else RecordProfile.objects.get(jurisdiction="OH")
    assert client.get(reverse(f"admin:workorders_{model}_changelist")).status_code == 200
    address = reverse(f"admin:workorders_{model}_change", args=[row.pk])
    assert client.get(address).status_code == 200
    assert client.post(address, {}).status_code == 403
    assert client.post(reverse(f"admin:workorders_{model}_delete", args=[row.pk]), {"post": "yes"}).status_code == 403


def form(**changed):
    told = {
        "person": build.PersonFactory(person_type="volunteer").pk,
        "products": [build.ProductFactory(code="herb").pk],
        "sites": [build.SiteFactory(code="HOLLOW").pk],
        "trained_by": "P. Supervisor",
        "trained_on": "2027-01-09",
        "first_day": "2027-01-10",
        "last_day": "2027-12-31",
    }
    return {**told, **changed}


def test_it_adds_a_permit_with_its_record(client, administrator):
    reply = client.post(reverse("admin:supplies_volunteerpermit_add"), form())
    row = VolunteerPermit.objects.get()
    assert (reply.status_code, row.products.get().code, row.sites.get().code) == (302, "herb", "HOLLOW")
    change = Change.objects.get(entity_id=row.public_id)
    assert change.after is not None
    assert (change.verb, change.actor, change.after["products"]) == ("permit_add", administrator, ["herb"])


def test_it_tells_why_a_permit_was_not_added(client, administrator):
    reply = client.post(reverse("admin:supplies_volunteerpermit_add"), form(trained_on="2027-02-01"), follow=True)
    assert "A permit begins after the training" in reply.content.decode()
    assert not VolunteerPermit.objects.exists()
