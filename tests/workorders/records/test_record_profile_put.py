"""Rules change by a new row from a day on, and the pesticide supervisor alone changes and reviews them."""

from datetime import date

import pytest

from orders.common.errors import Invalid, RoleMissing, VersionMismatch
from orders.common.models import Change
from orders.workorders.models import RecordProfile
from orders.workorders.records.profiles import VALUES, record_profile_put, record_profile_review
from tests import build

pytestmark = pytest.mark.django_db

FROM = date(2027, 1, 1)


@pytest.fixture
def stamp():
    user = build.UserFactory(roles=["pesticide_supervisor"], first_name="Pia", last_name="Rowan")
    return build.stamp(by=user)


@pytest.fixture
def ohio():
    return RecordProfile.objects.get(jurisdiction="OH")


def values_of(profile):
    return {name: getattr(profile, name) for name in VALUES}


def put(ohio, stamp, first_day=FROM, **changed):
    values = {**values_of(ohio), **changed}
    return record_profile_put(jurisdiction="OH", first_day=first_day, values=values, stamp=stamp)


def test_it_begins_where_the_rule_before_ends(ohio, stamp):
    row = put(ohio, stamp, keep_years=4)
    ohio.refresh_from_db()
    assert (ohio.last_day, row.last_day, row.keep_years) == (date(2026, 12, 31), None, 4)
    assert (row.reviewed_by, row.reviewed_on) == ("", None)
    verbs = Change.objects.filter(entity="recordprofile").values_list("verb", flat=True)
    assert set(verbs) == {"record_profile_put", "record_profile_end"}


def test_it_fits_between_two_rules(ohio, stamp):
    put(ohio, stamp)
    middle = put(ohio, stamp, date(2026, 6, 1))
    ohio.refresh_from_db()
    assert (ohio.last_day, middle.last_day) == (date(2026, 5, 31), date(2026, 12, 31))


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"required": ["wishes"]}, "required"),
        ({"if_applicable": ["product"]}, "if_applicable"),
        ({"counts": "same_day", "days": 2}, "days"),
        ({"counts": "days", "days": 0}, "days"),
        ({"keep_years": 0}, "keep_years"),
        ({"least_age": 17}, "least_age"),
        ({"source": " "}, "source"),
    ],
)
def test_it_names_what_is_wrong(ohio, stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        put(ohio, stamp, **changed)
    assert [error.field for error in refusal.value.errors] == [field]


def test_it_refuses_a_second_rule_from_the_same_day_and_a_strange_place(ohio, stamp):
    with pytest.raises(Invalid):
        put(ohio, stamp, ohio.first_day)
    with pytest.raises(Invalid) as refusal:
        record_profile_put(jurisdiction="ZZ", first_day=FROM, values=values_of(ohio), stamp=stamp)
    assert [error.field for error in refusal.value.errors] == ["jurisdiction"]


def test_it_is_reviewed_by_name_and_day(ohio, stamp):
    record_profile_review(profile=ohio, expected=ohio.version, stamp=stamp)
    ohio.refresh_from_db()
    assert (ohio.reviewed_by, ohio.reviewed_on, ohio.version) == ("Pia Rowan", date(2026, 12, 1), 2)
    assert Change.objects.get(verb="record_profile_review").entity_id == ohio.public_id
    with pytest.raises(VersionMismatch):
        record_profile_review(profile=ohio, expected=1, stamp=stamp)


@pytest.mark.parametrize("role", ["coordinator", "administrator", "crew_lead"])
def test_it_is_the_supervisors_alone(ohio, role):
    other = build.stamp(by=build.UserFactory(roles=[role]))
    with pytest.raises(RoleMissing):
        put(ohio, other)
    with pytest.raises(RoleMissing):
        record_profile_review(profile=ohio, expected=1, stamp=other)
