"""The start page of each role, the watch, and the search, in the states that look different."""

from collections.abc import Callable
from datetime import timedelta

from orders.common.clock import now
from tests import build

DESK, FINANCE, LEAD = ("coordinator",), ("finance",), ("crew_lead",)


def _season():
    today = now().date()
    return build.SeasonFactory(
        name="Winter 2027", first_day=today - timedelta(days=60), last_day=today + timedelta(days=120)
    )


def _running() -> None:
    """A season with a bit of everything, invented."""
    season, site = _season(), build.SiteFactory(code="HOLLOW", name="Ketterfold Hollow")
    crew = build.CrewFactory(name="Hollow crew")
    build.CheckInFactory(crew=crew, site=site, back_by=now() - timedelta(hours=3), phone="555 0142")
    for number, severity in enumerate(("urgent", "settle", "settle", "settle")):
        build.FlagFactory(state="open", severity=severity, title=f"Sprayed above the wind limit, patch HO-0{number}")
    build.FlagFactory(state="open", kind="held", title="Order 39 was closed on two tablets")
    days = {"first_day": now().date() - timedelta(days=9), "last_day": now().date() - timedelta(days=3)}
    for state in ("draft", "issued", "underway", "closed", "void"):
        order = build.WorkOrderFactory(season=season, site=site, crew=crew, state=state, **days)
    same = {
        "method_code": build.MethodFactory(code="hand-pull", name="hand pulling with roots").code,
        "category": "labor",
    }
    for weeks in (1, 3):
        order = build.WorkOrderFactory(
            season=season, site=site, crew=crew, state="closed", closed_at=now() - timedelta(weeks=weeks)
        )
        build.CommitmentFactory(order=order, minutes=600, **same)
        build.LedgerEntryFactory(order=order, quantity=700, unit="min", **same)
    for number, state in enumerate(("open", "planned", "ordered", "done")):
        patch = build.PatchFactory(site=site, code=f"HO-1{number}")
        due = now().date() + timedelta(days=10 * number)
        build.DeadlineFactory(kind="seed", patch=patch, site=site, due_on=due, title=f"{patch} before it fruits")
        build.PrescriptionFactory(season=season, patch=patch, state=state, seed_due_on=due)
    build.PrescriptionFactory(season=season, origin="follow_up", purpose="revisit")
    build.PrescriptionFactory(season=season, purpose="check", first_day=days["first_day"], last_day=days["last_day"])
    build.DeviceFactory(name="Tablet of Hollow crew")


def _start() -> str:
    _running()
    return "/"


def _watch() -> str:
    _running()
    return "/watch/"


def _search() -> str:
    _running()
    return "/search/?q=hollow"


def _bills() -> str:
    build.BillFactory(state="draft")
    build.BillFactory(state="approved")
    return "/"


STATES: dict[str, tuple[Callable[[], str], tuple[str, ...]]] = {
    "start": (_start, DESK),
    "start-nothing": (lambda: "/", DESK),
    "start-finance": (_bills, FINANCE),
    "start-lead": (lambda: "/", LEAD),
    "watch": (_watch, DESK),
    "watch-empty": (lambda: "/watch/", DESK),
    "search": (_search, DESK),
    "search-nothing": (lambda: "/search/?q=xyzzy", DESK),
}
