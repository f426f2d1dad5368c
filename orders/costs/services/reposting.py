"""Labor that was posted before its rate was known: taken back and posted anew at the rate, in the open month."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from estimating.pricing import hours_cents, split_cents
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Award, Fund, LedgerEntry
from orders.costs.services.charging import entries_post
from orders.costs.services.entries import entries_reverse
from orders.costs.services.holding import is_held_key, meant_by
from orders.costs.services.labor import labor_rate
from orders.costs.services.moved import key_of, row_moved
from orders.costs.services.overtime import overtime_refresh
from orders.crews.models import Person

SOURCES = ("time_entry", "day_line")
SECONDS_A_MINUTE = 60


@writing()
def labor_repost(*, person: Person, from_day: date, posted_on: date, stamp: Stamp) -> list[LedgerEntry]:
    """What stands of a person's days from one on, where the rate of the day is another now. Who pays stays as it is;
    what waits for finance is asked anew. The premium of the weeks is figured anew as well."""
    stamp = replace(stamp, reason=f"A rate of pay was set that holds from {from_day}.")
    rows = LedgerEntry.objects.filter(person=person, source_kind__in=SOURCES, work_date__gte=from_day, book="cost")
    standing = list(rows.filter(reverses__isnull=True, reversed_by__isnull=True).order_by("id"))
    sources: dict[tuple[object, ...], list[LedgerEntry]] = defaultdict(list)
    for row in standing:
        sources[row.source_kind, row.source_id, row.revision].append(row)
    old: list[LedgerEntry] = []
    new: list[LedgerEntry] = []
    for parts in sources.values():
        rate_e4, origin = labor_rate(person, parts[0].work_date)
        if rate_e4 != parts[0].rate_e4:
            old += parts
            new += _at_rate(parts, rate_e4, origin, posted_on, stamp)
    entries_reverse(old, posted_on=posted_on, stamp=stamp)
    posted = entries_post(new, stamp=stamp, again=True)
    days = {(person, row.work_date) for row in standing}
    overtime_refresh(people_weeks=days, posted_on=posted_on, stamp=stamp)
    return posted


def _at_rate(
    parts: Sequence[LedgerEntry], rate_e4: int, origin: str, posted_on: date, stamp: Stamp
) -> list[LedgerEntry]:
    minutes = [part.quantity for part in parts]
    cents = split_cents(hours_cents(sum(minutes) * SECONDS_A_MINUTE, rate_e4), minutes)
    made = []
    for part, amount in zip(parts, cents, strict=True):
        fund, award = _payer(part)
        row = row_moved(part, fund, award, posted_on=posted_on, stamp=stamp)
        row.amount_cents, row.rate_e4, row.rate_origin = amount, rate_e4, origin
        row.posting_key = key_of(row)
        made.append(row)
    return made


def _payer(row: LedgerEntry) -> tuple[Fund, Award | None]:
    """Who pays it; of a row in suspense, who was meant to."""
    if not is_held_key(row.posting_key):
        return row.fund, row.award
    *_, fund_id, award_id = meant_by(row.posting_key)
    return Fund.objects.get(pk=int(fund_id)), Award.objects.get(pk=int(award_id)) if award_id else None
