"""Reads of months, proofs, outer accounts and journals, for finance."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Count, Q, QuerySet, Sum

from orders.common.errors import NotFound
from orders.common.models import User
from orders.costs.models import AccountMapping, JournalBatch, LedgerEntry, Period, Proof
from orders.costs.selectors import costs_open_to


@dataclass(frozen=True)
class MonthLine:
    """A posting month: its row where anybody has asked anything of it, and what is posted to it."""

    month: date
    period: Period | None
    rows: int
    cost_cents: int

    @property
    def state(self) -> str:
        return self.period.state if self.period else "open"

    @property
    def state_words(self) -> str:
        return self.period.get_state_display() if self.period else "Open"


def months(actor: User) -> list[MonthLine]:
    """Every month that has postings or a row of its own, the newest first."""
    costs_open_to(actor)
    rows = LedgerEntry.objects.order_by().values_list("posting_month")
    posted = {
        month: (count, cents or 0)
        for month, count, cents in rows.annotate(n=Count("id"), c=Sum("amount_cents", filter=Q(book="cost")))
    }
    periods = {period.first_day: period for period in Period.objects.all()}
    return [
        MonthLine(month, periods.get(month), *posted.get(month, (0, 0)))
        for month in sorted({*posted, *periods}, reverse=True)
    ]


def periods(actor: User) -> QuerySet[Period]:
    costs_open_to(actor)
    return Period.objects.prefetch_related("steps__by").order_by("-first_day")


def period_get(actor: User, period_id: UUID) -> Period:
    found = periods(actor).filter(public_id=period_id).first()
    if found is None:
        raise NotFound("There is no such month.")
    return found


def period_of(actor: User, month: date) -> Period | None:
    """None where nobody has asked anything of the month: it is open."""
    return periods(actor).filter(first_day=month).first()


def proofs(actor: User) -> QuerySet[Proof]:
    costs_open_to(actor)
    return Proof.objects.select_related("ran_by").order_by("-id")


def proof_get(actor: User, proof_id: UUID) -> Proof:
    found = proofs(actor).filter(public_id=proof_id).first()
    if found is None:
        raise NotFound("There is no such proof.")
    return found


def proof_is_fresh(proof: Proof) -> bool:
    """Nothing was posted since."""
    return not LedgerEntry.objects.filter(id__gt=proof.last_row).exists()


def account_mappings(actor: User) -> QuerySet[AccountMapping]:
    costs_open_to(actor)
    return AccountMapping.objects.select_related("fund", "award").order_by("account", "fund__code", "award__code", "id")


def account_mapping_get(actor: User, mapping_id: UUID) -> AccountMapping:
    found = account_mappings(actor).filter(public_id=mapping_id).first()
    if found is None:
        raise NotFound("There is no such mapping.")
    return found


def journal_batches(actor: User) -> QuerySet[JournalBatch]:
    costs_open_to(actor)
    return JournalBatch.objects.select_related("made_by").order_by("-number")


def journal_batch_get(actor: User, batch_id: UUID) -> JournalBatch:
    found = journal_batches(actor).filter(public_id=batch_id).first()
    if found is None:
        raise NotFound("There is no such journal.")
    return found


def rows_for_journal(actor: User) -> int:
    """How many ledger rows no journal has handed over yet."""
    last = journal_batches(actor).values_list("last_row", flat=True).first() or 0
    return LedgerEntry.objects.filter(id__gt=last).count()
