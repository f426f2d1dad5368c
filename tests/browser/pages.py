"""Every page, in the states that look different; for the accessibility check and the pictures."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from orders.common.models.run import DONE, FAILED, QUEUED, RUNNING
from tests import build
from tests.browser import (
    choice_pages,
    dispatch_pages,
    drawing_pages,
    estimate_pages,
    export_pages,
    field_pages,
    fund_pages,
    ground_map_pages,
    guide_pages,
    intake_pages,
    month_pages,
    overtime_pages,
    packet_pages,
    pay_pages,
    payroll_pages,
    place_pages,
    prescribe_pages,
    product_pages,
    purchase_pages,
    rate_pages,
    record_pages,
    reminder_pages,
    report_pages,
    season_pages,
    setup_people_pages,
    site_pages,
    today_pages,
    try_pages,
)
from tests.calibration.closed import RATIOS, calibrated, closed_build
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


COURSE = "sheet=course&course_ft=204&course_seconds=30&width_in=20&caught_fl_oz=17"
LOAD = "sheet=percent&percent_vv=2&tank_gal=4&surfactant_percent_vv=0.5&carrier_gpa=40&area_acres=0.25"
ACID = "sheet=acid&strength=4&percent_vv=5&carrier_gpa=50&most_lb_ae_per_acre=8"


def _calibration(ratios: tuple[float, ...] = RATIOS) -> str:
    closed = closed_build(ratios)
    closed.order(12.0)
    for ratio in (0.8, 0.9, 0.95):
        closed.order(ratio, method="cut-stem", form="shrub", crew=1)
    closed.order(1.0, origin="prefilled")
    return f"/calibration/{calibrated(closed, AT).public_id}/"


def _calibrations() -> str:
    _calibration()
    return "/calibration/"


def _accuracy() -> str:
    _calibration()
    return "/reports/accuracy/"


DESK = ("coordinator",)
PAGES = (
    Shown("login", setup_people_pages.login, ()),
    *(Shown(name, address, ()) for name, address in setup_people_pages.FIRST.items()),
    Shown("costs", _books),
    Shown("costs-by-month", lambda: f"{_books()}?by=month"),
    Shown("costs-empty", lambda: "/reports/costs/"),
    Shown("cost-rows", _opened),
    Shown("months", month_pages.months),
    Shown("months-bad", month_pages.months_bad),
    Shown("months-empty", lambda: "/money/months/"),
    Shown("month", month_pages.month),
    Shown("month-asked", month_pages.month_asked),
    Shown("month-closed", month_pages.month_closed),
    Shown("month-reopening", month_pages.month_reopening),
    Shown("proofs", month_pages.proofs),
    Shown("proofs-empty", lambda: "/money/proofs/"),
    Shown("proof-bad", month_pages.proof_bad),
    Shown("mappings", month_pages.mappings),
    Shown("mappings-empty", lambda: "/money/mappings/"),
    Shown("mapping", month_pages.mapping),
    Shown("funds", fund_pages.funds),
    Shown("fund", fund_pages.fund),
    Shown("budget-new", fund_pages.budget_new),
    Shown("funding-rule-new", fund_pages.rule_new),
    Shown("award", fund_pages.award),
    Shown("award-terms-new", fund_pages.term_new),
    Shown("held", fund_pages.held),
    Shown("held-settled", fund_pages.held_settled),
    Shown("pay", pay_pages.rates),
    Shown("pay-empty", lambda: "/money/pay/"),
    Shown("pay-new", pay_pages.rate_next),
    Shown("pay-rules", pay_pages.rules),
    Shown("pay-policy-new", lambda: "/money/pay/rules/policy/"),
    Shown("overtime-rule-new", lambda: "/money/pay/rules/overtime/"),
    Shown("comp-time", pay_pages.comp_time),
    Shown("comp-time-empty", lambda: "/money/pay/time-off/"),
    Shown("match-rates", pay_pages.match_rates),
    Shown("match-rates-empty", lambda: "/money/pay/match/"),
    Shown("try-week", lambda: "/money/pay/try/"),
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
    Shown("calibration-empty", lambda: "/calibration/", DESK),
    Shown("calibrations", _calibrations, DESK),
    Shown("calibration", _calibration, DESK),
    Shown("calibration-not-enough", lambda: _calibration(()), DESK),
    Shown("accuracy", _accuracy, DESK),
    Shown("accuracy-empty", lambda: "/reports/accuracy/", DESK),
    Shown("estimates", estimate_pages.listed, DESK),
    Shown("estimates-empty", lambda: "/estimates/", DESK),
    Shown("estimate", estimate_pages.sprayed, DESK),
    Shown("estimate-remade", estimate_pages.remade, DESK),
    Shown("estimate-try", try_pages.plain, DESK),
    Shown("estimate-try-heat", try_pages.heat, DESK),
    Shown("estimate-try-too-hot", try_pages.heat_stops, DESK),
    Shown("estimate-try-refused", try_pages.refused, DESK),
    Shown("estimate-try-wrong", try_pages.wrong, DESK),
    Shown("season", estimate_pages.season, DESK),
    Shown("season-empty", estimate_pages.season_empty, DESK),
    Shown("seasons", estimate_pages.seasons, DESK),
    Shown("mixing-empty", lambda: "/mixing/", DESK),
    Shown("mixing-course", lambda: f"/mixing/?{COURSE}", DESK),
    Shown("mixing-load", lambda: f"/mixing/?{LOAD}", DESK),
    Shown("mixing-above-the-limit", lambda: f"/mixing/?{ACID}", DESK),
    Shown("mixing-wrong", lambda: "/mixing/?sheet=course&course_ft=long&width_in=20", DESK),
    Shown("map", ground_map_pages.cover, DESK),
    Shown("map-deadline", ground_map_pages.deadline, DESK),
    Shown("map-none", ground_map_pages.none_answers, DESK),
    Shown("map-empty", lambda: "/map/", DESK),
    Shown("patches", choice_pages.patches, DESK),
    Shown("patches-empty", lambda: "/patches/", DESK),
    Shown("patch", choice_pages.patch, DESK),
    Shown("patch-vines", choice_pages.vines, DESK),
    Shown("patch-not-surveyed", choice_pages.bare_patch, DESK),
    *(Shown(name, address, DESK) for name, address in prescribe_pages.STATES.items()),
    Shown("choice", choice_pages.choice, DESK),
    Shown("choices", choice_pages.choices, DESK),
    Shown("choices-empty", lambda: "/choices/", DESK),
    Shown("rate-books", rate_pages.books, DESK),
    Shown("rate-books-empty", lambda: "/rate-books/", DESK),
    Shown("rate-book-new", lambda: "/rate-books/new/", DESK),
    Shown("rate-book", rate_pages.draft_shown, DESK),
    Shown("rate-row", rate_pages.row, DESK),
    Shown("rate-book-difference", rate_pages.difference, DESK),
    Shown("rate-book-effect", rate_pages.effect, DESK),
    Shown("rate-book-changes", rate_pages.changes, DESK),
    Shown("products", product_pages.products, DESK),
    Shown("products-empty", lambda: "/products/", DESK),
    Shown("product", product_pages.product, ("crew_lead",)),
    Shown("product-with-gaps", product_pages.product_with_gaps, DESK),
    Shown("reminders", reminder_pages.notices, DESK),
    Shown("reminders-empty", lambda: "/reminders/", ("crew_lead",)),
    Shown("deadlines", reminder_pages.deadlines, DESK),
    Shown("deadlines-empty", lambda: "/reminders/deadlines/", DESK),
    Shown("reminder-settings", reminder_pages.settings, ("crew_lead",)),
    Shown("reminder-settings-feed", reminder_pages.feed_open, DESK),
    Shown("reminder-schedule", reminder_pages.schedule, DESK),
    Shown("reminder-step", reminder_pages.step, DESK),
    *(Shown(name, address, DESK) for name, address in season_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in field_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in intake_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in dispatch_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in drawing_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in packet_pages.STATES.items()),
    *(Shown(name, address, roles) for name, (address, roles) in today_pages.STATES.items()),
    *(Shown(name, address, roles) for name, (address, roles) in guide_pages.STATES.items()),
    *(Shown(name, address, roles) for name, (address, roles) in record_pages.STATES.items()),
    *(Shown(name, address, roles) for name, (address, roles) in purchase_pages.STATES.items()),
    *(Shown(name, address, roles) for name, (address, roles) in payroll_pages.STATES.items()),
    *(Shown(name, address) for name, address in report_pages.STATES.items()),
    *(Shown(name, address) for name, address in export_pages.STATES.items()),
    *(Shown(name, address) for name, address in overtime_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in place_pages.STATES.items()),
    *(Shown(name, address, DESK) for name, address in setup_people_pages.STATES.items()),
    *(Shown(name, address, ("administrator",)) for name, address in setup_people_pages.ADMINISTRATOR_STATES.items()),
    Shown("sites", site_pages.listed, ("crew_lead",)),
    Shown("sites-empty", lambda: "/sites/", DESK),
    Shown("site", site_pages.site, DESK),
    Shown("site-bare", site_pages.bare_site, DESK),
    Shown("site-event", site_pages.event, DESK),
    Shown("site-closure", site_pages.closure, DESK),
    Shown("site-emergency", site_pages.emergency, DESK),
    Shown("windows", site_pages.windows, DESK),
    Shown("windows-none", site_pages.windows_none, DESK),
    Shown("windows-empty", site_pages.windows_empty, DESK),
)
