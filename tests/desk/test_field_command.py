"""Field work from the terminal."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from orders.common.clock import now
from orders.field.models import Device, EnrollmentCode
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def coordinator():
    return build.UserFactory(username="cora", roles=["coordinator"])


def told(*words, by="cora"):
    out = StringIO()
    call_command("field", "--as", by, *words, stdout=out)
    return out.getvalue()


def test_it_tells_who_is_out_and_who_is_late():
    assert told("out") == "Nobody is out.\n"
    build.CheckInFactory(crew=build.CrewFactory(name="Far crew"), back_by=now() + timedelta(hours=1))
    build.CheckInFactory(crew=build.CrewFactory(name="Late crew"), back_by=now() - timedelta(hours=1))
    late, far = told("out").splitlines()[2:]
    assert ("Late crew" in late, "OVERDUE" in late, "Far crew" in far, "OVERDUE" in far) == (True, True, True, False)


def test_it_lists_flags():
    assert told("flags") == "No flag is open.\n"
    build.FlagFactory(title="Closed twice")
    assert "Closed twice" in told("flags")
    assert told("flags", "--settled") == "No flag is settled.\n"


def test_it_lists_tablets():
    assert told("tablets") == "No tablet is known.\n"
    build.DeviceFactory(name="Orange case", users=[build.UserFactory(username="lee")])
    assert [word in told("tablets") for word in ("Orange case", "in use", "lee")] == [True, True, True]


def test_it_makes_a_code():
    build.UserFactory(username="lee", roles=["crew_lead"])
    assert "for lee, once" in told("enroll", "lee")
    assert EnrollmentCode.objects.get().user.username == "lee"


def test_it_revokes_with_a_reason():
    device = build.DeviceFactory()
    told("revoke", str(device.public_id), "--because", "Lost")
    assert Device.objects.get().revoke_reason == "Lost"


@pytest.mark.parametrize("words", [("enroll", "nobody"), ("unsent", "/nowhere/file.json")])
def test_it_says_what_it_cannot_do(words):
    with pytest.raises(CommandError):
        told(*words)


def test_it_is_the_desks():
    build.UserFactory(username="lee", roles=["crew_lead"])
    assert told("out", by="lee") == "Nobody is out.\n"
    with pytest.raises(CommandError, match="only for administrator, coordinator"):
        told("tablets", by="lee")
