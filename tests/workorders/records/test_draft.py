"""What the facts tell of each field."""

import pytest

from orders.workorders.records.draft import record_draft
from orders.workorders.records.fields import fields_missing
from orders.workorders.records.groups import groups_of
from tests import build
from tests.workorders.records.uses import DAY, use

pytestmark = pytest.mark.django_db


def test_it_tells_what_the_facts_know(settings):
    settings.PROGRAM_NAME = "Invented Land Trust"
    application = use(
        area_m2=4046.8564224, equipment="Backpack sprayer", people=[build.PersonFactory(name="N. Helper")]
    )
    held = build.QualificationFactory(person=application.responsible, number="KY-1001")
    build.WeatherCheckFactory(site=application.site, work_date=DAY, wind_m_s=9.0, wind_from_deg=90.0)
    build.WeatherCheckFactory(
        site=application.site, batch=application.batch, work_date=DAY, wind_m_s=2.0, wind_from_deg=270.0
    )
    values = record_draft(groups_of([application])[0])
    assert values["requester"] == "Invented Land Trust"
    assert values["area_treated"] == {"value": "1.000", "unit": "acre"}
    assert values["amount"] == {"herb": {"value": "80", "unit": "mL"}}  # 4 of 10 L that hold 200 mL
    assert values["rate"] == {"herb": "2.00%"}
    assert (values["license_number"], values["noncertified_applicator"]) == (held.number, "N. Helper")
    assert (values["wind"], values["air_temperature"]) == ({"speed_m_s": 2.0, "from_deg": 270.0}, 12.0)
    assert values["registration_number"] == {"herb": "99901-7"}


def test_it_leaves_out_what_no_fact_tells():
    values = record_draft(groups_of([use()])[0])
    assert not {"area_treated", "wind", "air_temperature", "license_number", "label_required"} & set(values)


def test_its_values_count_as_held():
    (group,) = groups_of([use(area_m2=100.0)])
    values = record_draft(group)
    assert fields_missing(values, values, group.known) == []
