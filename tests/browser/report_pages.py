"""The pages of reports in the states that look different."""

from collections.abc import Callable
from datetime import date

from tests import build
from tests.desk.pages.books import parents

SITES = ("BRAMBLE", "CRANE", "HOLLOW", "LANTERN", "OXBOW", "QUARRY")
CATEGORIES = ("labor", "material", "equipment", "mileage")


def _posted() -> None:
    """Six sites over three months, two funds, an award with match, and overhead without an order."""
    season = build.SeasonFactory(name="Winter 2027")
    city, grant = build.FundFactory(code="CITY", name="City forest fund"), build.FundFactory(code="GRANT")
    build.SeasonFundFactory(season=season, code="CITY", budget_cents=900_000)
    award = build.AwardFactory(fund=grant, code="CREEK-27", name="Creek bank award")
    for number, site in enumerate(SITES):
        beside = parents(season)
        month = date(2027, 1 + number % 3, 1)
        payer = {"fund": grant, "award": award} if number % 2 else {"fund": city}
        common = {**beside, **payer, "site_code": site, "posting_month": month, "work_date": month.replace(day=9)}
        for place, category in enumerate(CATEGORIES):
            cents = 90_000 // (place + 1) + number * 4_321
            build.CommitmentFactory(**common, category=category, amount_cents=cents, minutes=600 if place == 0 else 0)
            build.LedgerEntryFactory(
                **common,
                category=category,
                debit=f"cost-{category}",
                amount_cents=cents + (number - 2) * 2_345,
                quantity=640,
                unit="min" if category == "labor" else "uL",
            )
        given = {"book": "match", "debit": "match-used", "credit": "match-given", "person_type": "volunteer"}
        build.LedgerEntryFactory(**common, **given, amount_cents=12_000, quantity=360)
    nowhere = {"order": None, "visit": None, "prescription": None, "order_number": None, "crew_name": ""}
    codes = {"site_code": "", "patch_code": "", "species_code": "", "method_code": ""}
    overhead = {"category": "indirect", "debit": "cost-indirect", "credit": "clear-indirect", "fund": city}
    build.LedgerEntryFactory(**nowhere, **codes, **overhead, amount_cents=41_234, work_date=date(2027, 2, 1))


def _page(rest: str) -> Callable[[], str]:
    def address() -> str:
        _posted()
        return f"/money/reports/{rest}"

    return address


STATES = {
    "reports": lambda: "/money/reports/",
    "report-cost": _page("cost/?by=site"),
    "report-cost-crossed": _page("cost/?by=site&and=month"),
    "report-cost-empty": lambda: "/money/reports/cost/",
    "report-cost-none": _page("cost/?by=site&site=NOWHERE"),
    "report-rows": _page("cost/rows/?by=site&key=OXBOW&and=category&and_key=labor"),
    "report-variance": _page("variance/?by=site"),
    "report-unit-cost": _page("unit-cost/"),
    "report-forecast": _page("forecast/"),
    "report-spending": _page("spending/"),
    "report-award": _page("award/"),
    "report-match": _page("match/"),
    "report-trial-balance": _page("trial-balance/"),
    "report-ledger": _page("ledger/"),
}
