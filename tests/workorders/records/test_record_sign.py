"""Signing and amending: missing fields are named, what was signed stays."""

from datetime import date, timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction

from orders.common.errors import Invalid
from orders.common.models import Change
from orders.workorders.models import ApplicationRecord, RecordProfile
from orders.workorders.records.signing import NoRecordRule, NothingApplied, RecordSigned, record_amend, record_sign
from tests import build
from tests.workorders.records.uses import ENDED, SIGNED, signature, use

pytestmark = pytest.mark.django_db


@pytest.fixture
def stamp():
    return build.stamp(by=build.UserFactory(roles=["crew_lead"]), at=SIGNED)


def test_it_signs_a_record_with_its_rule_and_terms(stamp):
    row = record_sign(signature=signature(use()), stamp=stamp)
    assert (row.revision, row.missing, row.profile.jurisdiction) == (1, [], "KY")
    assert (row.due_on, row.retain_until) == (date(2026, 7, 16), date(2029, 7, 2))
    assert (row.ended_at, row.at, row.by) == (ENDED, SIGNED, stamp.by)
    assert row.values["version"] == 1
    assert row.values["fields"]["license_number"] == "KY-1001"
    change = Change.objects.get(verb="record_sign")
    assert change.audience.get().crew_id == row.batch.crew.public_id


def test_it_names_what_the_rule_requires_and_the_record_lacks(stamp):
    asked = signature(use(jurisdiction="OH"), without=("requester", "language", "wind"))
    assert record_sign(signature=asked, stamp=stamp).missing == ["requester", "language"]


def test_it_asks_for_those_without_a_certificate_where_somebody_had_none(stamp):
    alone = record_sign(signature=signature(use()), stamp=stamp)
    helped = record_sign(signature=signature(use(people=[build.PersonFactory()])), stamp=stamp)
    assert (alone.missing, helped.missing) == ([], ["noncertified_applicator"])


def test_it_asks_for_nobody_else_where_all_are_certified(stamp):
    application = use()
    held = build.QualificationFactory(jurisdiction=application.site.jurisdiction)
    build.ApplicationPersonFactory(application=application, person=held.person)
    assert record_sign(signature=signature(application), stamp=stamp).missing == []


def test_it_is_of_all_uses_of_one_mix_place_day_and_applicator(stamp):
    first = use()
    same = {"responsible": first.responsible, "site": first.site}
    use(first.batch, **same, started_at=ENDED, at=ENDED + timedelta(hours=2))
    use(first.batch, site=first.site)  # by another applicator
    row = record_sign(signature=signature(first), stamp=stamp)
    assert (row.started_at, row.ended_at) == (first.started_at, ENDED + timedelta(hours=2))


def test_it_goes_by_the_corrected_use(stamp):
    first = use()
    use(first.batch, responsible=first.responsible, replaces=first, at=ENDED - timedelta(minutes=10))
    row = record_sign(signature=signature(first), stamp=stamp)
    assert row.ended_at == ENDED - timedelta(minutes=10)


def test_it_counts_the_term_by_the_sites_day(stamp):
    late = use(jurisdiction="OH", at=ENDED.replace(day=3, hour=2))  # 22:00 on July 2 in New York
    assert record_sign(signature=signature(late), stamp=stamp).due_on == date(2026, 7, 2)


def test_it_keeps_what_came_in_before_under_the_same_id(stamp):
    asked = signature(use(), public_id=uuid4())
    first = record_sign(signature=asked, stamp=stamp)
    assert record_sign(signature=asked, stamp=stamp).pk == first.pk
    assert ApplicationRecord.objects.count() == 1


def test_it_refuses_a_second_signature_without_a_reason(stamp):
    application = use()
    record_sign(signature=signature(application), stamp=stamp)
    with pytest.raises(RecordSigned):
        record_sign(signature=signature(application), stamp=stamp)


def test_it_refuses_a_record_of_nothing(stamp):
    application = use()
    with pytest.raises(NothingApplied):
        record_sign(signature=signature(application, responsible=build.PersonFactory()), stamp=stamp)


def test_it_refuses_where_no_rule_is_in_force(stamp):
    RecordProfile.objects.update(last_day=date(2026, 1, 1))
    with pytest.raises(NoRecordRule):
        record_sign(signature=signature(use()), stamp=stamp)


@pytest.mark.parametrize(("changed", "field"), [({"signed_by": " "}, "signed_by"), ({"values": {"a": 1}}, "values")])
def test_it_names_what_is_wrong_with_a_signature(stamp, changed, field):
    with pytest.raises(Invalid) as refusal:
        record_sign(signature=signature(use(), **changed), stamp=stamp)
    assert [error.field for error in refusal.value.errors] == [field]


def test_it_amends_with_a_reason_and_keeps_what_was_signed(stamp):
    application = use()
    first = record_sign(signature=signature(application, without=("requester",)), stamp=stamp)
    again = record_amend(record=first, signature=signature(application), reason="Forgot the owner", stamp=stamp)
    assert (again.revision, again.amends, again.missing) == (2, first, [])
    first.refresh_from_db()
    assert first.missing == ["requester"]


def test_it_amends_with_a_reason_only_and_only_the_newest(stamp):
    application = use()
    first = record_sign(signature=signature(application), stamp=stamp)
    with pytest.raises(Invalid):
        record_amend(record=first, signature=signature(application), reason=" ", stamp=stamp)
    record_amend(record=first, signature=signature(application), reason="Again", stamp=stamp)
    with pytest.raises(RecordSigned):
        record_amend(record=first, signature=signature(application), reason="Again", stamp=stamp)


@pytest.mark.parametrize("write", [lambda rows: rows.update(signed_by="B"), lambda rows: rows.delete()])
def test_it_freezes_what_was_signed(stamp, write):
    record_sign(signature=signature(use()), stamp=stamp)
    with pytest.raises(IntegrityError), transaction.atomic():
        write(ApplicationRecord.objects.all())
