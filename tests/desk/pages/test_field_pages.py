"""Every page of field work opens in each of its states, to the roles that may see it and to no others."""

import pytest
from django.urls import reverse

from tests import build
from tests.browser.field_pages import STATES

pytestmark = pytest.mark.django_db
SAFETY = {"coordinator", "administrator", "pesticide_supervisor"}
GROUND = SAFETY | {"crew_lead"}
EVERYBODY = GROUND | {"finance"}
OPENS_TO = {
    "out-now": GROUND,
    "flags": GROUND,
    "tablets": {"coordinator", "administrator"},
    "orders": EVERYBODY,
    "day-sheets": EVERYBODY,
    "incidents": GROUND,
    "field-policy": GROUND,
}


@pytest.mark.parametrize("name", STATES)
def test_it_opens_in_each_state(client, name, settings, tmp_path):
    settings.PHOTO_DIR = tmp_path
    client.force_login(build.UserFactory(username="viewer", roles=["administrator"]))
    assert client.get(STATES[name]()).status_code == 200


@pytest.mark.parametrize("name", OPENS_TO)
def test_it_opens_to_its_roles_alone(client, name):
    found = set()
    for role in EVERYBODY:
        client.force_login(build.UserFactory(roles=[role]))
        if client.get(reverse(name)).status_code == 200:
            found.add(role)
    assert found == OPENS_TO[name]
