"""The tailgate briefing."""

from uuid import uuid4

import pytest

from orders.field.models import Briefing
from tests.commands.season import ids

pytestmark = pytest.mark.django_db


def test_it_keeps_what_was_said_to_whom(season):
    body = {
        "id": str(uuid4()),
        "crew": str(season.crew.public_id),
        "site": str(season.site.public_id),
        "led_by": str(season.lead.public_id),
        "orders": [str(season.order.public_id)],
        "people": ids(season.people),
        "conditions": {"air_temperature_c": 31.0, "full_sun": True, "workload": "heavy"},
        "computed": {"heat_index_c": 35.2},
        "hazards": [{"code": "heat", "control": "Water every 20 minutes"}],
    }
    season.applied("briefing", body)
    season.applied("briefing", body)
    kept = Briefing.objects.get()
    assert (kept.led_by, kept.orders) == (season.lead, [str(season.order.public_id)])
    assert kept.people == [{"id": str(person.public_id), "name": person.name} for person in season.people]
    assert (kept.conditions["workload"], kept.computed) == ("heavy", {"heat_index_c": 35.2})
    assert kept.hazards == [{"code": "heat", "control": "Water every 20 minutes"}]
