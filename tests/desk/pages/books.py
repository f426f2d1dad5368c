"""A small set of books: two orders of two seasons, three sites, two funds, and a cost that was taken back."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.costs.models import Fund
from orders.planning.models import Season
from tests import build


@dataclass
class Books:
    season: Season
    later: Season
    city: Fund
    grant: Fund


def books_made() -> Books:
    season, later = build.SeasonFactory(name="Winter"), build.SeasonFactory(name="Summer", first_day=date(2027, 6, 1))
    city, grant = build.FundFactory(code="CITY"), build.FundFactory(code="GRANT")
    first, second = parents(season), parents(later)
    build.CommitmentFactory(**first, site_code="NORTH", fund=city, amount_cents=50_000, minutes=600)
    build.CommitmentFactory(**second, site_code="SOUTH", fund=grant, amount_cents=20_005, minutes=90)
    build.LedgerEntryFactory(**first, site_code="NORTH", fund=city, amount_cents=61_234, quantity=700)
    taken = build.LedgerEntryFactory(**first, site_code="NORTH", fund=grant, amount_cents=999, quantity=30)
    build.LedgerEntryFactory(
        **first,
        site_code="NORTH",
        fund=grant,
        amount_cents=-999,
        quantity=-30,
        reverses=taken,
        reason="Typed twice",
        posting_month=date(2027, 3, 1),
    )
    build.LedgerEntryFactory(
        **second, site_code="EAST", fund=grant, amount_cents=7, category="material", quantity=500_000, unit="uL"
    )
    return Books(season, later, city, grant)


def parents(season: Season) -> dict[str, Any]:
    """What a planned or posted row belongs to; rows of a test share it."""
    order = build.WorkOrderFactory(season=season)
    visit = build.VisitFactory(season=season, crew=order.crew, site=order.site)
    return {"order": order, "visit": visit, "prescription": build.PrescriptionFactory(season=season)}
