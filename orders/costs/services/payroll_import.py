"""What payroll really cost, settled against what the ledger had."""

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence

from django.conf import settings

from estimating.pricing import split_cents
from orders.common.changes import change_record
from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import Award, Fund, LedgerEntry, PayPeriod, PayrollImport, PayrollImportLine
from orders.costs.payroll_file import PayrollRow, payroll_rows
from orders.costs.payroll_ledger import FundKey, labor_by_fund
from orders.costs.selectors import fund_suspense
from orders.costs.services.entries import WHOLE_E4, Cost, Payer, entries_make, entries_reverse


@writing()
def payroll_import(*, period: PayPeriod, file_name: str, data: bytes, stamp: Stamp) -> PayrollImport:
    """Take a file, or refuse all of it. For each person the ledger's labor is settled from the funds that bore it, and
    what payroll cost more or less goes to the payroll difference, split like the labor. A second file of the same
    period takes back what the first one posted."""
    period.refresh_from_db()
    if period.state != "exported":
        raise WrongState(f"Tell payroll the hours of {period} first; then take what they cost.")
    rows = payroll_rows(data)
    borne = labor_by_fund(period)
    before = period.imports.order_by("-revision").first()
    loaded = PayrollImport.objects.create(
        period=period,
        revision=before.revision + 1 if before else 1,
        file_name=file_name[:200],
        file_sha256=hashlib.sha256(data).hexdigest(),
        total_cents=sum(row.cents for row in rows),
        ledger_cents=sum(sum(borne[row.person.pk].values()) for row in rows),
        at=stamp.at,
        by=stamp.by,
    )
    lines = PayrollImportLine.objects.bulk_create(_line(loaded, row, borne[row.person.pk]) for row in rows)
    posted_on = stamp.local_date(settings.PROGRAM_TIME_ZONE)
    if before:
        entries_reverse(_standing(before), posted_on=posted_on, stamp=stamp)
    funds = _Funds()
    LedgerEntry.objects.bulk_create(
        entry
        for line in lines
        for cost, payer in _settled(line, borne[line.person_id], funds)
        for entry in entries_make(cost, [payer], revision=loaded.revision, posted_on=posted_on, stamp=stamp)
    )
    # the feed is read by more people than may know what anybody is paid
    after = {"revision": loaded.revision, "rows": len(rows), "file_sha256": loaded.file_sha256}
    change_record(stamp=stamp, verb="payroll_import", entity=loaded, after=after)
    return loaded


def _line(loaded: PayrollImport, row: PayrollRow, borne: Counter[FundKey]) -> PayrollImportLine:
    return PayrollImportLine(
        loaded=loaded,
        row_number=row.number,
        person=row.person,
        gross_cents=row.gross_cents,
        employer_cents=row.employer_cents,
        ledger_cents=sum(borne.values()),
    )


def _standing(loaded: PayrollImport) -> Sequence[LedgerEntry]:
    sources = [line.public_id for line in loaded.lines.all()]
    rows = LedgerEntry.objects.filter(source_kind="payroll", source_id__in=sources, reverses__isnull=True)
    return list(rows.filter(reversed_by__isnull=True).order_by("id"))


class _Funds:
    """Read once an import."""

    def __init__(self) -> None:
        self.funds = Fund.objects.in_bulk()
        self.awards = Award.objects.in_bulk()

    def payer(self, key: FundKey) -> Payer:
        fund, award = key
        return Payer(self.funds[fund], self.awards[award] if award else None, WHOLE_E4)

    def bearing(self, borne: Counter[FundKey]) -> dict[FundKey, int]:
        """Who bears a difference, with weights; nobody's labor waits in suspense."""
        return {key: cents for key, cents in borne.items() if cents > 0} or {(fund_suspense().pk, None): 1}


def _settled(line: PayrollImportLine, borne: Counter[FundKey], funds: _Funds) -> Iterable[tuple[Cost, Payer]]:
    for key, cents in borne.items():
        if cents:
            yield _cost(line, "clear-payroll", cents), funds.payer(key)
    difference = line.gross_cents + line.employer_cents - line.ledger_cents
    if difference:
        weights = funds.bearing(borne)
        for key, cents in zip(weights, split_cents(difference, list(weights.values())), strict=True):
            if cents:
                yield _cost(line, "clear-variance", cents), funds.payer(key)


def _cost(line: PayrollImportLine, debit: str, cents: int) -> Cost:
    return Cost(
        category="labor",
        amount_cents=cents,
        quantity=0,
        unit="",
        rate_e4=0,
        rate_origin="amount",
        source_kind="payroll",
        source_id=line.public_id,
        work_date=line.loaded.period.last_day,
        person=line.person,
        book="clearing",
        debit=debit,
        credit="fund",
    )
