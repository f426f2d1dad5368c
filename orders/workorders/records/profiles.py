"""Rules on records are dated rows: a new one begins where the one before ends, and a licensed person reviews it."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.conf import settings

from orders.common.changes import change_record, version_bump
from orders.common.errors import RoleMissing
from orders.common.models.user import PESTICIDE_SUPERVISOR
from orders.common.rows import Findings, plain_values, row_add
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import Jurisdiction
from orders.workorders.models import RecordProfile
from orders.workorders.records.fields import CODES
from orders.workorders.records.rules import FEDERAL, PROGRAM, profiles
from orders.workorders.who_may import LEAST_AGE

VALUES = (
    "scope",
    "counts",
    "days",
    "keep_years",
    "required",
    "if_applicable",
    "produce",
    "must_carry_order",
    "volunteers_may_apply",
    "volunteer_signal_words",
    "least_age",
    "source",
    "not_found",
)


@writing()
def record_profile_put(*, jurisdiction: str, first_day: date, values: Mapping[str, Any], stamp: Stamp) -> RecordProfile:
    """A rule for uses from a day on. What was in force before ends on the day before; the new one is not reviewed."""
    _supervisor(stamp)
    rows = list(profiles().filter(jurisdiction=jurisdiction))
    before = next((row for row in reversed(rows) if row.first_day < first_day), None)
    after = next((row for row in rows if row.first_day > first_day), None)
    told = {name: value for name, value in values.items() if name in VALUES}
    row = RecordProfile(jurisdiction=jurisdiction, first_day=first_day, **told)
    row.last_day = after.first_day - timedelta(days=1) if after else None
    found = Findings()
    _check(found, row)
    added = row_add(row, stamp=stamp, verb="record_profile_put", findings=found)
    if before is not None and (before.last_day is None or before.last_day >= first_day):
        _end(before, first_day - timedelta(days=1), stamp)
    return added


def _end(row: RecordProfile, last_day: date, stamp: Stamp) -> None:
    was = version_bump(row, expected=None, last_day=last_day)
    ended = plain_values({"last_day": last_day})
    change_record(stamp=stamp, verb="record_profile_end", entity=row, before=plain_values(was), after=ended)


def _check(found: Findings, row: RecordProfile) -> None:
    known = {PROGRAM, FEDERAL, *Jurisdiction.objects.values_list("code", flat=True)}
    known |= set(profiles().values_list("jurisdiction", flat=True))
    found.need(row.jurisdiction in known, "jurisdiction", f"{row.jurisdiction} is no jurisdiction that is known here.")
    for name in ("required", "if_applicable"):
        strange = [code for code in getattr(row, name) if code not in CODES]
        found.need(not strange, name, f"No such field: {', '.join(strange)}.")
    twice = sorted(set(row.required) & set(row.if_applicable))
    found.need(not twice, "if_applicable", f"Required already: {', '.join(twice)}.")
    found.need(row.counts != "same_day" or row.days == 0, "days", "The day of the use counts no days.")
    found.need(row.counts == "same_day" or row.days > 0, "days", "Must be 1 or more.")
    found.need(row.keep_years >= 1, "keep_years", "Must be 1 or more.")
    found.need(row.least_age >= LEAST_AGE, "least_age", f"Must be {LEAST_AGE} or more.")
    found.need(bool(row.source.strip()), "source", "Name where the rule says so.")


@writing()
def record_profile_review(*, profile: RecordProfile, expected: int, stamp: Stamp) -> RecordProfile:
    """The pesticide supervisor has compared the row with the rule as it is in force."""
    _supervisor(stamp)
    assert stamp.by is not None  # a role is a user's
    name = stamp.by.get_full_name() or stamp.by.get_username()
    reviewed = {"reviewed_by": name, "reviewed_on": stamp.local_date(settings.PROGRAM_TIME_ZONE)}
    before = version_bump(profile, expected=expected, **reviewed)
    told = plain_values(reviewed)
    change_record(stamp=stamp, verb="record_profile_review", entity=profile, before=plain_values(before), after=told)
    return profile


def _supervisor(stamp: Stamp) -> None:
    if stamp.by is None or not stamp.by.has_role(PESTICIDE_SUPERVISOR):
        raise RoleMissing("Rules on records are the pesticide supervisor's.")
