"""The rows by themselves: both sides, accounts, reversals, months."""

from collections.abc import Iterator

from django.db.models import Case, F, Q, Sum, Value, When
from django.db.models.functions import Coalesce, Concat

from orders.costs.digest import balances, rows_digest
from orders.costs.models import ACCOUNTS, LedgerEntry, Period
from orders.costs.proofs.check import check, rows_told


@check("trial-balance", "Debits equal credits: all accounts together come to nothing")
def trial_balance() -> Iterator[str]:
    for book in ("cost", "clearing", "match"):
        held = balances(LedgerEntry.objects.filter(book=book))
        if sum(held.values()):
            yield f"{book}: {sum(held.values())} cents"


@check("accounts", "Every row stands between two accounts that are known and belong to its book and category")
def accounts() -> Iterator[str]:
    known = [code for code, _ in ACCOUNTS]
    cost = Q(book="cost", debit=Concat(Value("cost-"), "category")) & ~Q(credit__startswith="cost-")
    match = Q(book="match", debit="match-used", credit="match-given")
    clearing = Q(book="clearing")
    for start in ("cost-", "match-"):
        clearing &= ~Q(debit__startswith=start) & ~Q(credit__startswith=start)
    right = Q(debit__in=known, credit__in=known) & ~Q(debit=F("credit")) & (cost | match | clearing)
    yield from rows_told(LedgerEntry.objects.exclude(right))


SAME: tuple[str, ...] = (
    "book",
    "debit",
    "credit",
    "category",
    "fund_id",
    "unit",
    "rate_e4",
    "work_date",
    "source_kind",
    "source_id",
)
SAME += ("revision", "site_code", "patch_code", "species_code", "method_code", "crew_name", "person_type", "work_code")
SAME_OR_NONE = ("award_id", "person_id", "order_number", "prescription_id", "visit_id")


@check("reversals", "Each reversal is the exact opposite of its row")
def reversals() -> Iterator[str]:
    rows = LedgerEntry.objects.filter(reverses__isnull=False)
    same = Q(amount_cents=-F("reverses__amount_cents"), quantity=-F("reverses__quantity"))
    same &= Q(**{name: F(f"reverses__{name}") for name in SAME})
    for name in SAME_OR_NONE:
        own, other = Coalesce(name, Value(0)), Coalesce(f"reverses__{name}", Value(0))
        rows = rows.annotate(**{f"own_{name}": own, f"other_{name}": other})
        same &= Q(**{f"own_{name}": F(f"other_{name}")})
    wrong = rows.annotate(right=Case(When(same, then=Value(1)), default=Value(0))).filter(right=0)
    yield from rows_told(wrong)


@check("reversed-once", "No row is taken back twice, and no reversal is itself taken back")
def reversed_once() -> Iterator[str]:
    yield from rows_told(LedgerEntry.objects.filter(reverses__reverses__isnull=False))
    taken_back = LedgerEntry.objects.filter(reverses__isnull=False)
    twice = taken_back.values("reverses").order_by("reverses").annotate(times=Sum(Value(1))).filter(times__gt=1)
    yield from (f"row {row['reverses']}: taken back {row['times']} times" for row in twice)


@check("closed-months", "Closed months are as they were when they were closed, row by row")
def closed_months() -> Iterator[str]:
    for period in Period.objects.filter(state__in=("closed", "reopening")).order_by("first_day"):
        rows = LedgerEntry.objects.filter(posting_month=period.first_day)
        now = rows_digest(rows)
        if (now.rows, now.sha256) != (period.rows_count, period.rows_sha256):
            yield f"{period}: {period.rows_count} rows when it was closed, {now.rows} now"
        if balances(rows) != period.balances:
            yield f"{period}: an account holds something else than when it was closed"
        yield from rows_told(rows.filter(posted_at__gt=period.closed_at))


@check("posting-months", "Every row is posted to a month")
def posting_months() -> Iterator[str]:
    yield from rows_told(LedgerEntry.objects.exclude(posting_month__day=1))
