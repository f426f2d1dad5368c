"""Charges that wait in suspense: how they are noted, and how they go when their source is taken back.

The rows of a held charge keep the posting key that they would have had with the payer that was meant, and a suffix: so
two parts of one source that are held side by side stay two.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from orders.common.changes import changes_record, version_bump
from orders.common.stamp import Stamp
from orders.costs.fund_selectors import HELD_KEY
from orders.costs.models import Award, Fund, HeldCharge, LedgerEntry
from orders.crews.models import Person
from orders.workorders.models import WorkOrder

HELD = ":held"


@dataclass(frozen=True)
class Held:
    source_kind: str
    source_id: UUID
    revision: int
    fund: Fund
    award: Award | None
    order: WorkOrder | None
    person: Person | None
    category: str
    work_date: date
    amount_cents: int
    code: str
    message: str


def held_key(posting_key: str) -> str:
    return posting_key + HELD


def is_held_key(posting_key: str) -> bool:
    return re.search(HELD_KEY, posting_key) is not None


def charges_hold(held: Sequence[Held], *, stamp: Stamp) -> list[HeldCharge]:
    """Note each. One that was settled, and whose rows were posted anew, waits again. The record names no amount: what
    a charge of one person's time comes to is pay."""
    rows = [_hold(one, stamp) for one in held]
    told = [(row, {"code": row.code, "category": row.category, "fund": row.fund.code}) for row in rows]
    changes_record(stamp=stamp, verb="charge_hold", written=told)
    return rows


def _hold(held: Held, stamp: Stamp) -> HeldCharge:
    facts = vars(held)
    key = {name: facts[name] for name in ("source_kind", "source_id", "revision", "fund", "award")}
    known = HeldCharge.objects.filter(**key).first()
    if known is None:
        return HeldCharge.objects.create(**facts, raised_at=stamp.at)
    told = {name: facts[name] for name in ("amount_cents", "code", "message", "work_date")}
    nobody = {"settled_fund": None, "settled_award": None, "settled_by": None, "settled_at": None, "reason": ""}
    version_bump(known, expected=None, state="waiting", raised_at=stamp.at, **told, **nobody)
    return known


def charges_gone(rows: Iterable[LedgerEntry], *, stamp: Stamp) -> None:
    """Their rows were taken back before anybody settled them: nothing is left to settle."""
    keys = {meant_by(row.posting_key) for row in rows if row.book == "cost" and is_held_key(row.posting_key)}
    gone = []
    for kind, source_id, revision, fund_id, award_id in sorted(keys):
        waiting = HeldCharge.objects.filter(source_kind=kind, source_id=source_id, revision=revision, state="waiting")
        award = {"award_id": int(award_id)} if award_id else {"award__isnull": True}
        for row in waiting.filter(fund_id=int(fund_id), **award):
            version_bump(row, expected=None, state="gone")
            gone.append((row, {"state": "gone"}))
    changes_record(stamp=stamp, verb="charge_gone", written=gone)


def meant_by(posting_key: str) -> tuple[str, str, str, str, str]:
    """(kind, source, revision, fund, award) of a key as `entries_make` writes it."""
    kind, source_id, revision, _, fund_id, award_id = posting_key.split(":")[:6]
    return kind, source_id, revision, fund_id, award_id
