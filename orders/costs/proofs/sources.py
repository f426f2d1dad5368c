"""The rows against what they came from: close-outs, time, material, shares."""

from collections.abc import Iterator

from django.db.models import F, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from estimating.pricing import hours_cents, product_cents
from orders.costs.models import FundingRule, LedgerEntry, OrderFunding
from orders.costs.proofs.check import check, rows_told, standing
from orders.costs.selectors import CLOSE_OUT_SOURCES
from orders.workorders.models import CloseOut, MaterialUse, TimeEntry

WHOLE_E4 = 10_000
SECONDS_A_MINUTE = 60


@check("close-outs", "Of each order only the standing close-out's postings stand")
def close_outs() -> Iterator[str]:
    newest = CloseOut.objects.filter(order=OuterRef("order"), amended_by__isnull=True).order_by("-revision")
    posted = standing(source_kind__in=CLOSE_OUT_SOURCES)
    posted = posted.annotate(newest=Coalesce(Subquery(newest.values("revision")[:1]), Value(0)))
    yield from rows_told(posted.exclude(revision=F("newest")))


def _posted(kind: str, revision: str) -> Subquery:
    """Quantity that stands posted for a source row in its own revision, whoever pays for it since."""
    rows = LedgerEntry.objects.filter(source_kind=kind, source_id=OuterRef("public_id"), revision=OuterRef(revision))
    summed = rows.filter(book="cost").order_by().values("source_id").annotate(whole=Sum("quantity"))
    return Subquery(summed.values("whole"))


@check("labor-minutes", "Each minute stated in a standing close-out is posted once")
def labor_minutes() -> Iterator[str]:
    times = TimeEntry.objects.filter(close_out__amended_by__isnull=True)
    times = times.annotate(posted=Coalesce(_posted("time_entry", "close_out__revision"), Value(0)))
    for entry in times.exclude(minutes=F("posted")).order_by("id").iterator():
        yield f"time entry {entry.public_id}: {entry.minutes} min stated, {entry.posted} posted"


@check("labor-money", "Each posting of labor is its minutes at its rate, rounded once, in parts that sum to it")
def labor_money() -> Iterator[str]:
    rows = LedgerEntry.objects.filter(source_kind="time_entry", book="cost")
    parts = rows.order_by("source_id", "revision", "rate_e4").values_list("source_id", "revision", "rate_e4")
    summed = parts.annotate(minutes=Sum("quantity"), cents=Sum("amount_cents"))
    for source, revision, rate_e4, minutes, cents in summed.iterator():
        if hours_cents(minutes * SECONDS_A_MINUTE, rate_e4) != cents:
            yield f"time entry {source}, revision {revision}: {minutes} min at {rate_e4} is not {cents} cents"


@check("material-amounts", "Each use of material in a standing close-out is posted in the amount that was used")
def material_amounts() -> Iterator[str]:
    uses = MaterialUse.objects.filter(close_out__amended_by__isnull=True).select_related("lot")
    uses = uses.annotate(posted=_posted("material_use", "close_out__revision"))
    for use in uses.filter(~Q(amount=F("posted")) | Q(posted__isnull=True)).order_by("id").iterator():
        is_free = use.posted is None and product_cents(use.amount, use.lot.price_e4) == 0
        if not is_free:
            yield f"material use {use.public_id}: {use.amount} used, {use.posted or 0} posted"


@check("funding-shares", "What funds pay of an order, or by a rule, sums to the whole")
def funding_shares() -> Iterator[str]:
    shares = OrderFunding.objects.order_by("order").values("order__number").annotate(whole=Sum("share_e4"))
    for row in shares.exclude(whole=WHOLE_E4):
        yield f"order {row['order__number']}: {row['whole']} of {WHOLE_E4}"
    for rule in FundingRule.objects.order_by("id").annotate(whole=Sum("shares__share_e4")).exclude(whole=WHOLE_E4):
        yield f"rule {rule.name}: {rule.whole or 0} of {WHOLE_E4}"
