"""The rows against what was settled beside them: stock, overtime, payroll, charges that wait."""

from collections.abc import Iterator

from django.db.models import F, OuterRef, QuerySet, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from orders.costs.models import HeldCharge, LedgerEntry, PayrollImport, PayrollImportLine, WorkweekPremium
from orders.costs.proofs.check import check, standing
from orders.costs.services.stock import stock_proof


@check("held-charges", "Each charge that waits for finance stands in the suspense fund with its amount")
def held_charges() -> Iterator[str]:
    waiting = HeldCharge.objects.filter(state="waiting").order_by("source_kind", "source_id", "revision")
    for held in waiting.values("source_kind", "source_id", "revision").annotate(cents=Sum("amount_cents")).iterator():
        same = {name: held[name] for name in ("source_kind", "source_id", "revision")}
        there = standing(fund__is_suspense=True, book="cost", **same).aggregate(cents=Sum("amount_cents"))["cents"] or 0
        if there != held["cents"]:
            yield f"{held['source_kind']} {held['source_id']}: {held['cents']} cents wait, {there} are in suspense"


@check("stock", "The account of stock holds what is on hand is worth")
def stock() -> Iterator[str]:
    yield from stock_proof()


@check("premiums", "Each person's posted overtime premium is that of the newest figures of every workweek")
def premiums() -> Iterator[str]:
    """By person: what earlier figures had posted is taken back, so that it comes to nothing."""
    later = WorkweekPremium.objects.filter(person=OuterRef("person"), week_start=OuterRef("week_start"))
    newest = Subquery(later.order_by("-revision").values("revision")[:1])
    figured = WorkweekPremium.objects.annotate(newest=newest).filter(revision=F("newest"))
    wanted = _sums(figured.values_list("person__public_id"), "premium_cents")
    posted = _sums(LedgerEntry.objects.filter(source_kind="overtime").values_list("person__public_id"), "amount_cents")
    for person in sorted({*wanted, *posted}, key=str):
        if wanted.get(person, 0) != posted.get(person, 0):
            yield f"person {person}: {wanted.get(person, 0)} cents figured, {posted.get(person, 0)} posted"


def _sums(
    rows: "QuerySet[WorkweekPremium, tuple[object]] | QuerySet[LedgerEntry, tuple[object]]", name: str
) -> dict[object, int]:
    return {key: int(cents or 0) for key, cents in rows.order_by().annotate(whole=Sum(name))}


@check("payroll", "Each person's settled payroll is what the newest file of the pay period says")
def payroll() -> Iterator[str]:
    settled = LedgerEntry.objects.filter(source_kind="payroll", source_id=OuterRef("public_id"))
    whole = Subquery(settled.order_by().values("source_id").annotate(whole=Sum("amount_cents")).values("whole"))
    newest = PayrollImport.objects.filter(period=OuterRef("loaded__period")).order_by("-revision").values("revision")
    lines = PayrollImportLine.objects.annotate(settled=Coalesce(whole, Value(0)), newest=Subquery(newest[:1]))
    for line in lines.select_related("loaded").order_by("id").iterator():
        wanted = line.gross_cents + line.employer_cents if line.loaded.revision == line.newest else 0
        if line.settled != wanted:
            yield f"payroll line {line.public_id}: {wanted} cents by the file, {line.settled} settled"
