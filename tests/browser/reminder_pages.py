"""Reminders in the states that look different: own list, deadlines, settings, the schedule and one step of it."""

from datetime import UTC, date, datetime, timedelta

from orders.common.clock import now
from orders.common.models import User
from orders.reminders.models import Deadline, ReminderStep
from tests import build

WINDOW = "Winter 2027: the window closes on March 14, 2027. Spring ephemerals emerge, less 7 days."
OVER = "Its last visit stands on March 4, 2027."
SHORT = "Planned work takes 12.40 L; 9.00 L are on hand. By the plan it runs out on March 9, 2027."
RECORD = "Work order 31 has herbicide work on March 2, 2027. MO: Missouri 2 CSR 70-25.120 (three business days)."


def deadlines() -> str:
    site = build.SiteFactory(code="HOLLOW", name="Hollow Run")
    patch = build.PatchFactory(site=site, code="H-07", name="Old fence line")
    seed = {"patch": patch, "title": "wintercreeper (climbing), HOLLOW H-07", "due_on": date(2027, 8, 18)}
    build.DeadlineFactory(**seed, state="late", because="Fruit was seen on August 2, 2027.")
    rows = [
        ("window", "dormant-season foliar spray, HOLLOW H-07", date(2027, 3, 14), "open", WINDOW),
        ("record", "Herbicide record of March 2, 2027, work order 31, Hollow Run", date(2027, 3, 5), "missed", RECORD),
        (
            "close",
            "Work order 31, Hollow Run, North crew",
            date(2027, 3, 4),
            "open",
            OVER,
        ),
        ("license", "Certified applicator (IN), P. Sedge", date(2027, 6, 30), "open", "It runs to June 30, 2027."),
        (
            "stock",
            "Stock of Ketterline T-360",
            date(2027, 3, 9),
            "open",
            SHORT,
        ),
    ]
    for kind, title, due_on, state, because in rows:
        where = {"site": site} if kind in {"window", "record", "close"} else {}
        facts = {"title": title, "due_on": due_on, "state": state, "because": because}
        build.DeadlineFactory(plain=True, kind=kind, **facts, **where)
    return "/reminders/deadlines/"


def notices() -> str:
    """For whoever looks at the page."""
    deadlines()
    viewer = User.objects.get(username="viewer")
    made = now() - timedelta(hours=3)
    for number, deadline in enumerate(Deadline.objects.order_by("id")):
        step = ReminderStep.objects.filter(kind=deadline.kind).first()
        facts = {"subject": f"{deadline.get_kind_display()}: {deadline.title}", "body": f"Because: {deadline.because}"}
        handed = {"handed_over_at": made} if number % 2 else {}
        build.NoticeFactory(user=viewer, deadline=deadline, step=step, made_at=made, **facts, **handed)
    return "/reminders/"


def settings() -> str:
    return "/reminders/settings/"


def feed_open() -> str:
    viewer = User.objects.get(username="viewer")
    build.CalendarFeedFactory(user=viewer, made_at=datetime(2026, 11, 20, 15, tzinfo=UTC))
    return "/reminders/settings/"


def schedule() -> str:
    return "/reminders/schedule/"


def step() -> str:
    return f"/reminders/schedule/{ReminderStep.objects.get(kind='close', code='three-days').public_id}/"
