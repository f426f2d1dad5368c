"""Every page, in the states that look different; for the accessibility check and the pictures."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from orders.common.models.run import DONE, FAILED, QUEUED, RUNNING
from tests import build
from tests.desk.pages.books import parents

AT = datetime(2026, 12, 1, 15, tzinfo=UTC)
SITES = ("BRAMBLE", "CRANE", "HOLLOW", "LANTERN", "OXBOW", "QUARRY", "RIDGE", "TANNER")
BECAUSE = {
    "window": "The window closes on March 20, and every crew with a certified applicator is taken until then.",
    "budget": "The budget of the season is used up by visits that matter more.",
}


@dataclass(frozen=True)
class Shown:
    name: str
    address: Callable[[], str]
    roles: tuple[str, ...] = ("finance",)


def _books() -> str:
    """Invented figures: eight sites, two funds, and a month with nothing but a reversal."""
    season = build.SeasonFactory(name="Winter 2027")
    city, grant = build.FundFactory(code="CITY", name="City operations"), build.FundFactory(code="GRANT")
    shared = parents(season)
    for number, site in enumerate(SITES):
        where = {**shared, "site_code": site, "fund": grant if number % 3 else city}
        planned = 180_000 + 97_531 * number % 640_000
        build.CommitmentFactory(**where, amount_cents=planned, minutes=planned // 50)
        build.LedgerEntryFactory(
            **where, amount_cents=planned * (80 + 7 * number) // 100, quantity=planned * (70 + 9 * number) // 5_000
        )
        build.LedgerEntryFactory(
            **where,
            amount_cents=12_345 + number,
            category="material",
            quantity=2_500_000,
            unit="uL",
            person=None,
            person_type="",
        )
    twice = {**shared, "site_code": "OXBOW", "fund": grant, "person": build.PersonFactory(name="R. Teasel")}
    wrong = build.LedgerEntryFactory(**twice, amount_cents=600_000, quantity=2_400)
    back = {"posting_month": date(2027, 4, 1), "reverses": wrong, "reason": "Typed twice"}
    build.LedgerEntryFactory(**twice, **back, amount_cents=-600_000, quantity=-2_400)
    return "/reports/costs/"


def _opened() -> str:
    _books()
    return "/reports/costs/rows/?key=OXBOW"


def _run(**fields) -> str:
    asker = build.UserFactory(username="cora", first_name="Cora", last_name="Finch")
    named = {"season": build.SeasonFactory(name="Winter 2027"), "asked_by": asker, "asked_at": AT}
    run = build.PlanRunFactory(**named, **fields)
    return f"/runs/{run.public_id}/"


def _plan() -> str:
    left_out = [
        {
            "prescription": "",
            "patch": f"{SITES[n % 8]} P{n}",
            "method": ("Cut-stem treatment", "Hand pulling")[n % 2],
            "hours": 4.5 + n,
            "constraint": ("window", "budget")[n % 2],
            "because": BECAUSE[("window", "budget")[n % 2]],
        }
        for n in range(9)
    ]
    return _run(state=DONE, cost_cents=4_812_377, left_out=left_out, finished_at=AT + timedelta(minutes=1))


def _import() -> str:
    errors = [
        {"row": 5, "line": 7, "field": "observed_on", "code": "x", "message": "“next week” is not a date."},
        {"row": 18, "line": 20, "field": "cover", "code": "x", "message": "140 is more than 100 percent."},
    ]
    warning = {"row": 3, "line": 5, "field": "geometry", "code": "x", "message": "Lies outside the site's boundary."}
    made = build.SurveyImportFactory(
        file_name="survey_2026.gpkg",
        state=DONE,
        refused=True,
        rows_read=120,
        errors=errors,
        warnings=[warning],
        asked_at=AT,
        finished_at=AT,
    )
    return f"/runs/{made.public_id}/"


DESK = ("coordinator",)
PAGES = (
    Shown("login", lambda: "/login/", ()),
    Shown("costs", _books),
    Shown("costs-by-month", lambda: f"{_books()}?by=month"),
    Shown("costs-empty", lambda: "/reports/costs/"),
    Shown("cost-rows", _opened),
    Shown("role-missing", lambda: "/reports/costs/", DESK),
    Shown("not-there", lambda: "/no-such-page/"),
    Shown("run-waiting", lambda: _run(state=QUEUED), DESK),
    Shown(
        "run-at-work",
        lambda: _run(state=RUNNING, progress_done=412, progress_total=1_000, progress_note="Improving", attempt=2),
        DESK,
    ),
    Shown("run-failed", lambda: _run(state=FAILED, error="KeyError: 'P7'", finished_at=AT), DESK),
    Shown("run-plan", _plan, DESK),
    Shown("run-import", _import, DESK),
)
