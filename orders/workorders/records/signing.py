"""Signing a record and amending it. What was signed stays as it is: an amendment is another row, with its reason."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid4

from orders.common.changes import change_record
from orders.common.errors import FieldError, Invalid, Refusal
from orders.common.rows import Findings, plain_values
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Person
from orders.sites.models import Site
from orders.workorders.models import ApplicationRecord, MixBatch, RecordProfile
from orders.workorders.records.applies import fields_wanted
from orders.workorders.records.fields import CODES, VERSION, fields_missing
from orders.workorders.records.groups import RecordGroup, group_find
from orders.workorders.records.rules import Rules, kept_until, record_due
from orders.workorders.records.states import records_standing


class RecordSigned(Refusal):
    """There is a signed record of this mix, place, day and applicator: amend it, with a reason."""

    code = "record_signed"
    title = "The record is signed already"


class NothingApplied(Refusal):
    """No use of a herbicide from this mix is on record for the place, the day and the applicator."""

    code = "nothing_applied"
    title = "There is no use to record"


class NoRecordRule(Refusal):
    """No rule on records is in force there on that day, not even the program's own."""

    code = "no_record_rule"
    title = "No rule on records is in force"


@dataclass(frozen=True)
class Signature:
    """What somebody signs: of which uses, with which values (by field code), when."""

    batch: MixBatch
    site: Site
    work_date: date
    responsible: Person
    values: Mapping[str, Any]
    signed_by: str
    at: datetime
    public_id: UUID | None = None


@writing()
def record_sign(*, signature: Signature, keep_until: date | None = None, stamp: Stamp) -> ApplicationRecord:
    """The first record of its uses. Missing fields do not stop it: they are named, and it stays open until amended.

    `keep_until`: what other rules than those on records ask for.
    """
    if (known := _known(signature)) is not None:
        return known
    if record_of(signature) is not None:
        raise RecordSigned("This record was signed before. Amend it, and say why.")
    return _add(signature, None, "", keep_until, stamp)


@writing()
def record_amend(
    *,
    record: ApplicationRecord,
    signature: Signature,
    reason: str,
    keep_until: date | None = None,
    stamp: Stamp,
) -> ApplicationRecord:
    """Another revision of a record of the same uses. The one before it stays."""
    if (known := _known(signature)) is not None:
        return known
    if not reason.strip():
        raise Invalid("Say why it is amended.", [FieldError("reason", "is required", code="required")])
    standing = record_of(signature)
    if standing is None or standing.pk != record.pk:
        raise RecordSigned("This is not the newest revision of the record. Read it again.")
    return _add(signature, record, reason.strip(), keep_until, stamp)


def record_of(signature: Signature) -> ApplicationRecord | None:
    """The revision that stands for these uses."""
    same = {name: getattr(signature, name) for name in ("batch", "site", "work_date", "responsible")}
    return records_standing().filter(**same).first()


def _known(signature: Signature) -> ApplicationRecord | None:
    """What came in before under the same id."""
    if signature.public_id is None:
        return None
    return ApplicationRecord.objects.filter(public_id=signature.public_id).first()


def _add(
    signature: Signature, amends: ApplicationRecord | None, reason: str, also: date | None, stamp: Stamp
) -> ApplicationRecord:
    group = group_find(signature.batch, signature.site, signature.work_date, signature.responsible)
    if group is None:
        raise NothingApplied("No herbicide use by this applicator from this mix is on record here for that day.")
    rules = Rules.read()
    profile = rules.of(signature.site.jurisdiction.code, group.used_on)
    if profile is None:
        raise NoRecordRule(f"No rule on records is in force on {group.used_on}.")
    _check(signature)
    row = ApplicationRecord(
        public_id=signature.public_id or uuid4(),
        batch=signature.batch,
        site=signature.site,
        work_date=signature.work_date,
        responsible=signature.responsible,
        revision=amends.revision + 1 if amends else 1,
        amends=amends,
        reason=reason,
        signed_by=signature.signed_by.strip(),
        at=signature.at,
        received_at=stamp.at,
        by=stamp.by,
        **_by_rule(signature, group, profile, kept_until(rules, *_days(signature, group), also)),
    )
    row.save(force_insert=True)
    shown = ("revision", "work_date", "due_on", "missing", "signed_by", "retain_until", "reason")
    after = plain_values({name: getattr(row, name) for name in shown})
    verb = "record_amend" if amends else "record_sign"
    change_record(stamp=stamp, verb=verb, entity=row, after=after, audience=[signature.batch.crew.public_id])
    return row


def _days(signature: Signature, group: RecordGroup) -> tuple[str, date, date]:
    site = signature.site
    signed_on = Stamp(by=None, at=signature.at).local_date(site.time_zone)
    return site.jurisdiction.code, group.used_on, signed_on


def _by_rule(signature: Signature, group: RecordGroup, profile: RecordProfile, keep: date) -> dict[str, Any]:
    return {
        "profile": profile,
        "started_at": group.started_at,
        "ended_at": group.ended_at,
        "due_on": record_due(profile, group.used_on),
        "values": {"version": VERSION, "fields": dict(signature.values)},
        "missing": fields_missing(signature.values, fields_wanted(profile, group), group.known),
        "retain_until": keep,
    }


def _check(signature: Signature) -> None:
    found = Findings()
    found.need(bool(signature.signed_by.strip()), "signed_by", "Name who signs.")
    for code in signature.values:
        found.need(code in CODES, "values", f"{code} is no field of a record.")
    found.refuse("The record was not signed.")
