"""Tablets: a code from the desk makes one known, or adds a person to one; the desk takes either back."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, NotFound, Refusal, WrongState
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Device, DeviceUser, EnrollmentCode
from orders.field.services.commands import Contact
from orders.field.services.flags import flag_raise

LETTERS = "ABCDEFGHJKMNPQRTUVWXYZ2346789"  # none that looks like another
CODE_LENGTH = 8
CODE_HOURS = 24
TOKEN_BYTES = 32
MOST_SKEW_SECONDS = 5 * 60


class CodeUnknown(Refusal):
    """No such code was made, or it is mistyped."""

    code = "code_unknown"
    title = "The code is not known"
    status = 400


class CodeUsed(Refusal):
    """A code works once. Ask the desk for a new one."""

    code = "code_used"
    title = "The code was used"


class CodeExpired(Refusal):
    """A code works for a day. Ask the desk for a new one."""

    code = "code_expired"
    title = "The code has expired"
    status = 410


@dataclass(frozen=True)
class Enrolled:
    """`token` is shown this once; it is None where a person was added to a tablet that is known."""

    device: Device
    user: User
    token: str | None


def secret_hash(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


@writing()
def enrollment_code_make(*, user: User, stamp: Stamp) -> tuple[EnrollmentCode, str]:
    """A code of one use for a person, and its text, which is not kept."""
    if not user.is_active:
        raise Invalid(f"{user} may not log in.", [FieldError("user", "is not active")])
    text = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
    code = EnrollmentCode.objects.create(
        code_sha256=secret_hash(text),
        user=user,
        made_by=stamp.by,
        made_at=stamp.at,
        expires_at=stamp.at + timedelta(hours=CODE_HOURS),
    )
    change_record(stamp=stamp, verb="enrollment_code_make", entity=code, after={"user": user.username})
    return code, text


@writing()
def device_enroll(
    *, code: str, name: str, device: Device | None, stamp: Stamp, app_version: str = "", was: UUID | None = None
) -> Enrolled:
    """Use a code. Without a device a new one is made; `was` is what the tablet was before its token was lost, so that
    the numbers of its commands go on. `stamp.by` is nobody: the code speaks for its person."""
    used = _code_use(code, stamp.at)
    token = None
    if device is None:
        token = secrets.token_urlsafe(TOKEN_BYTES)
        device = Device.objects.create(
            name=name,
            token_sha256=secret_hash(token),
            enrolled_at=stamp.at,
            expires_on=stamp.local_date(settings.PROGRAM_TIME_ZONE) + timedelta(days=settings.TABLET_DAYS),
            last_contact_at=stamp.at,
            app_version=app_version,
            next_seq=_next_seq_of(was),
        )
    EnrollmentCode.objects.filter(pk=used.pk).update(used_at=stamp.at, device=device)
    DeviceUser.objects.update_or_create(
        device=device, user=used.user, defaults={"added_at": stamp.at, "removed_at": None}
    )
    told = Stamp(by=used.user, at=stamp.at)
    change_record(stamp=told, verb="device_enroll", entity=device, after={"name": name, "user": used.user.username})
    return Enrolled(device, used.user, token)


def _code_use(text: str, at: datetime) -> EnrollmentCode:
    """Spaces and hyphens do not count, nor does the case."""
    plain = "".join(letter for letter in text.upper() if letter.isalnum())
    found = EnrollmentCode.objects.select_related("user").filter(code_sha256=secret_hash(plain)).first()
    if found is None or not found.user.is_active:
        raise CodeUnknown("There is no such code. Look at it again, or ask the desk for a new one.")
    if found.used_at is not None:
        raise CodeUsed("This code was used already. Ask the desk for a new one.")
    if found.expires_at <= at:
        raise CodeExpired("This code is too old. Ask the desk for a new one.")
    return found


def _next_seq_of(was: UUID | None) -> int:
    before = Device.objects.filter(public_id=was).first() if was else None
    return before.next_seq if before else 1


@writing()
def device_rename(*, device: Device, name: str, expected: int, stamp: Stamp) -> Device:
    before = version_bump(device, expected=expected, name=name)
    change_record(stamp=stamp, verb="device_rename", entity=device, before=before, after={"name": name})
    return device


@writing()
def device_revoke(*, device: Device, stamp: Stamp) -> Device:
    """From its next contact on the tablet is shut out. What it has not sent can still be brought in as a file."""
    if not stamp.reason:
        raise Invalid("Say why the tablet is revoked.", [FieldError("reason", "is required", code="required")])
    if device.revoked_at is not None:
        raise WrongState(f"{device} is revoked already.")
    version_bump(device, expected=None, revoked_at=stamp.at, revoked_by=stamp.by, revoke_reason=stamp.reason[:200])
    change_record(stamp=stamp, verb="device_revoke", entity=device, after={"revoked": True})
    return device


@writing()
def device_user_remove(*, device: Device, user: User, stamp: Stamp) -> DeviceUser:
    """The person is taken off the tablet; what was done there before still counts as theirs."""
    held = DeviceUser.objects.filter(device=device, user=user, removed_at__isnull=True).first()
    if held is None:
        raise NotFound(f"{user} is not on {device}.")
    held.removed_at = stamp.at
    held.save(update_fields=["removed_at"])
    version_bump(device, expected=None)
    change_record(stamp=stamp, verb="device_user_remove", entity=device, after={"removed": user.username})
    return held


@writing()
def device_contact(*, contact: Contact, app_version: str, waiting: int) -> None:
    """What a tablet says of itself when it calls. Of a clock that is wrong a person is told, once a day."""
    device, skew = contact.device, contact.skew_seconds or 0
    told = {"app_version": app_version, "waiting_told": waiting, "skew_seconds": skew}
    Device.objects.filter(pk=device.pk).update(last_contact_at=contact.at, **told)
    if abs(skew) > MOST_SKEW_SECONDS:
        stamp = Stamp(by=None, at=contact.at)
        flag_raise(
            key=f"clock:{device.public_id}:{stamp.local_date(settings.PROGRAM_TIME_ZONE)}",
            kind="clock",
            severity="note",
            title=f"The clock of {device} is {abs(skew) // 60} minutes {'ahead' if skew > 0 else 'behind'}.",
            data={"device": str(device.public_id), "skew_seconds": skew},
            stamp=stamp,
        )
