"""Charges that wait in suspense: finance says who pays, and the rows move there. What the funder's terms forbid stays
forbidden; the program's own budgets may be passed, with the reason that every settlement gives."""

from collections.abc import Iterable
from datetime import date

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.fund_selectors import held_rows_standing
from orders.costs.models import Award, Fund, HeldCharge, LedgerEntry
from orders.costs.services.checks import Charge, charge_check
from orders.costs.services.entries import entries_reverse
from orders.costs.services.moved import row_moved
from orders.costs.services.periods import posting_month_for


@writing()
def held_charge_settle(
    *, held: HeldCharge, fund: Fund, award: Award | None, posted_on: date, expected: int | None = None, stamp: Stamp
) -> HeldCharge:
    """Move what waits to the payer chosen: its suspense rows are reversed and posted anew, in the open period."""
    if held.state != "waiting":
        raise WrongState(f"This charge is {held.get_state_display().lower()}; it waits for nobody any more.")
    rows = list(held_rows_standing(held))
    _refuse(held, fund, award, rows, posted_on, stamp)
    version_bump(
        held,
        expected=expected,
        state="settled",
        settled_fund=fund,
        settled_award=award,
        settled_by=stamp.by,
        settled_at=stamp.at,
        reason=stamp.reason,
    )
    entries_reverse(rows, posted_on=posted_on, stamp=stamp)
    moved = [row_moved(row, fund, award, posted_on=posted_on, stamp=stamp) for row in rows]
    for row in moved:
        row.posting_key = f"{row.posting_key}:settled"
    LedgerEntry.objects.bulk_create(moved)
    after = {"fund": fund.code, "award": award.code if award else None, "state": "settled"}
    change_record(stamp=stamp, verb="held_charge_settle", entity=held, before={"state": "waiting"}, after=after)
    return held


@writing()
def held_charges_settle(
    *, held: Iterable[HeldCharge], fund: Fund, award: Award | None, posted_on: date, stamp: Stamp
) -> list[HeldCharge]:
    """Several at once to one payer: all of them, or none."""
    return [held_charge_settle(held=one, fund=fund, award=award, posted_on=posted_on, stamp=stamp) for one in held]


def _refuse(
    held: HeldCharge, fund: Fund, award: Award | None, rows: list[LedgerEntry], posted_on: date, stamp: Stamp
) -> None:
    errors = []
    if not stamp.reason.strip():
        errors.append(FieldError("reason", "Say why this payer takes it.", code="required"))
    if fund.is_suspense:
        errors.append(FieldError("fund", "It is in suspense already."))
    if award and award.fund_id != fund.pk:
        errors.append(FieldError("award", f"{award.code} is not paid through {fund.code}."))
    if not rows:
        errors.append(FieldError("", "Nothing of it stands in suspense."))
    if not errors and (problem := charge_check(_charge(held, fund, award, rows, posted_on), budgets=False)):
        field = "award" if problem.is_mandatory else problem.field
        errors.append(FieldError(field, problem.message, code=problem.code))
    if errors:
        raise Invalid("The charge was not settled.", errors)


def _charge(held: HeldCharge, fund: Fund, award: Award | None, rows: list[LedgerEntry], posted_on: date) -> Charge:
    return Charge(
        fund=fund,
        award=award,
        category=held.category,
        work_date=held.work_date,
        cents=sum(row.amount_cents for row in rows),
        site_code=rows[0].site_code,
        month=posting_month_for(posted_on),
    )
