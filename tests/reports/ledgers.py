"""Ledgers made at random: costs with and without an order, taken back, settled, and matched."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from hypothesis import strategies as st

from orders.costs.models import CATEGORIES, Commitment, LedgerEntry
from orders.planning.models import Season
from tests import build
from tests.desk.pages.books import parents

MONTHS = [date(2027, month, 1) for month in (1, 2, 3)]
CODES = [code for code, _ in CATEGORIES]


@dataclass
class Made:
    season: Season
    places: list[dict[str, Any]]
    payers: list[dict[str, Any]]


def places_made() -> Made:
    """Two orders of a season and no order; two funds, one of them through an award."""
    season = build.SeasonFactory()
    nowhere = {
        "order": None,
        "visit": None,
        "prescription": None,
        "order_number": None,
        "site_code": "",
        "patch_code": "",
        "species_code": "",
        "method_code": "",
        "crew_name": "",
    }
    award = build.AwardFactory()
    payers = [{"fund": build.FundFactory()}, {"fund": award.fund, "award": award}]
    return Made(season, [parents(season), parents(season), nowhere], payers)


ROW = st.fixed_dictionaries(
    {
        "place": st.integers(0, 2),
        "payer": st.integers(0, 1),
        "category": st.sampled_from(CODES),
        "cents": st.integers(-500_000, 500_000),
        "quantity": st.integers(-600, 600),
        "month": st.sampled_from(MONTHS),
        "worked": st.sampled_from(MONTHS),
        "book": st.sampled_from(["cost", "cost", "cost", "clearing", "match"]),
        "is_taken_back": st.booleans(),
        "is_planned": st.booleans(),
    }
)
ROWS = st.lists(ROW, min_size=1, max_size=12)
SIDES = {"cost": None, "clearing": ("clear-payroll", "fund"), "match": ("match-used", "match-given")}


def row_made(made: Made, row: dict[str, Any]) -> None:
    common = {
        **made.places[row["place"]],
        **made.payers[row["payer"]],
        "category": row["category"],
        "posting_month": row["month"],
        "work_date": row["worked"].replace(day=15),
    }
    if row["is_planned"]:
        build.CommitmentFactory(**common, amount_cents=row["cents"], minutes=row["quantity"])
        return
    debit, credit = SIDES[row["book"]] or (f"cost-{row['category']}", "clear-payroll")
    posted = {**common, "book": row["book"], "debit": debit, "credit": credit, "person": None, "person_type": ""}
    first = build.LedgerEntryFactory(**posted, amount_cents=row["cents"], quantity=row["quantity"])
    if row["is_taken_back"]:
        posted |= {"posting_month": MONTHS[-1], "reverses": first}
        build.LedgerEntryFactory(**posted, amount_cents=-row["cents"], quantity=-row["quantity"])


def cents_of(model: type[Commitment | LedgerEntry], **where: Any) -> int:
    """Added up in Python, row by row."""
    return sum(row.amount_cents for row in model._default_manager.filter(**where))
