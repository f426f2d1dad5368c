"""Tablets: enrolled by a code of one use, shared, renamed, shut out."""

from dataclasses import replace
from datetime import timedelta

import pytest

from orders.common.errors import Invalid, NotFound, WrongState
from orders.common.models import Change
from orders.field.models import Device, EnrollmentCode
from orders.field.selectors.devices import device_by_hash, device_get, device_user_newest
from orders.field.services.devices import (
    LETTERS,
    CodeExpired,
    CodeUnknown,
    CodeUsed,
    device_enroll,
    device_rename,
    device_revoke,
    device_user_remove,
    enrollment_code_make,
    secret_hash,
)
from tests import build

pytestmark = pytest.mark.django_db


@pytest.fixture
def lead():
    return build.UserFactory(username="lead", roles=["crew_lead"])


@pytest.fixture
def code(lead, stamp):
    return enrollment_code_make(user=lead, stamp=stamp)[1]


def _enroll(code, stamp, **more):
    return device_enroll(**{"code": code, "name": "Blue tablet", "device": None, "stamp": stamp, **more})


def test_it_makes_a_code_that_can_be_read_aloud_and_keeps_its_hash_alone(lead, stamp):
    made, text = enrollment_code_make(user=lead, stamp=stamp)
    assert len(text) == 8
    assert set(text) <= set(LETTERS)
    assert made.code_sha256 == secret_hash(text)
    assert text not in str(Change.objects.values_list("after", flat=True))


def test_it_makes_no_code_for_somebody_who_may_not_log_in(stamp):
    with pytest.raises(Invalid):
        enrollment_code_make(user=build.UserFactory(is_active=False), stamp=stamp)


def test_it_enrolls_a_new_tablet(lead, code, stamp):
    enrolled = _enroll(f" {code[:4].lower()}-{code[4:]} ", stamp, app_version="1")
    device = Device.objects.get()
    assert (enrolled.device, enrolled.user) == (device, lead)
    assert device_by_hash(secret_hash(enrolled.token)) == device
    assert device.expires_on == stamp.at.date() + timedelta(days=400)
    assert device_user_newest(device) == lead
    assert Change.objects.filter(verb="device_enroll", actor=lead).exists()


def test_it_takes_a_code_once(code, stamp):
    _enroll(code, stamp)
    with pytest.raises(CodeUsed):
        _enroll(code, stamp)
    assert Device.objects.count() == 1


def test_it_takes_a_code_for_a_day(code, stamp):
    with pytest.raises(CodeExpired):
        _enroll(code, replace(stamp, at=stamp.at + timedelta(hours=24)))
    assert _enroll(code, replace(stamp, at=stamp.at + timedelta(hours=23, minutes=59))).token


def test_it_knows_no_other_codes(lead, code, stamp):
    with pytest.raises(CodeUnknown):
        _enroll("AAAAAAAA", stamp)
    lead.is_active = False
    lead.save()
    with pytest.raises(CodeUnknown):
        _enroll(code, stamp)


def test_it_adds_a_second_person_to_a_tablet(code, stamp):
    first = _enroll(code, stamp)
    mate = build.UserFactory(username="mate", roles=["crew_lead"])
    _, text = enrollment_code_make(user=mate, stamp=stamp)
    later = replace(stamp, at=stamp.at + timedelta(minutes=1))
    second = _enroll(text, later, device=first.device)
    assert (second.device, second.token) == (first.device, None)
    assert device_user_newest(first.device) == mate
    assert first.device.device_users.filter(removed_at__isnull=True).count() == 2
    assert set(EnrollmentCode.objects.values_list("device", flat=True)) == {first.device.pk}


def test_it_takes_a_person_off_and_on_again(lead, code, stamp):
    device = _enroll(code, stamp).device
    device_user_remove(device=device, user=lead, stamp=stamp)
    assert device_user_newest(device) is None
    with pytest.raises(NotFound):
        device_user_remove(device=device, user=lead, stamp=stamp)
    _, text = enrollment_code_make(user=lead, stamp=stamp)
    _enroll(text, stamp, device=device)
    assert device_user_newest(device) == lead


def test_it_goes_on_with_the_numbers_of_what_a_tablet_was(code, stamp):
    before = build.DeviceFactory(next_seq=57, revoked_at=stamp.at)
    assert _enroll(code, stamp, was=before.public_id).device.next_seq == 57


def test_it_shuts_a_tablet_out_once_and_says_why(code, stamp):
    device = _enroll(code, stamp).device
    with pytest.raises(Invalid):
        device_revoke(device=device, stamp=stamp)
    device_revoke(device=device, stamp=stamp.because("Left on a bus."))
    kept = device_get(device.public_id)
    assert (kept.revoked_at, kept.revoked_by, kept.revoke_reason) == (stamp.at, stamp.by, "Left on a bus.")
    with pytest.raises(WrongState):
        device_revoke(device=kept, stamp=stamp.because("Again."))


def test_it_renames_a_tablet(code, stamp):
    device = _enroll(code, stamp).device
    device_rename(device=device, name="Red tablet", expected=device.version, stamp=stamp)
    assert device_get(device.public_id).name == "Red tablet"
