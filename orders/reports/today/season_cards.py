"""What the season asks for: deadlines of every kind, a plan that is out of date, follow-ups without a day, drafts."""

from datetime import timedelta
from typing import Any

from django.db.models import Count

from orders.common.models import Change
from orders.common.models.user import PESTICIDE_SUPERVISOR
from orders.estimates.models import RateBook
from orders.planning.models import Prescription
from orders.planning.selectors import plan_in_force
from orders.reminders.models import OWED
from orders.reminders.selectors import deadlines_of
from orders.reports.today.cards import DESK, SAFETY, Card, Find, Line, Reader, Waiting, due_in, names, waiting_of

AHEAD = {"seed": 45, "window": 14, "license": 60, "label": 60, "stock": 30}  # days; our own choice
# Entities of the change record -> what people call them
PLAN_RESTS_ON = {
    "absence": "Days off",
    "crew": "Crews",
    "crewmembership": "People on crews",
    "qualification": "Qualifications",
    "closure": "Closures of sites",
    "calendarevent": "Site calendars",
    "seasonfund": "Budgets",
    "equipment": "Equipment",
}
SUPERVISION = DESK | {PESTICIDE_SUPERVISOR}


def _deadlines(kind: str) -> Find:
    def find(reader: Reader) -> Waiting | None:
        rows = deadlines_of(reader.actor, on=reader.on)
        until = reader.on + timedelta(days=AHEAD[kind])
        rows = rows.filter(kind=kind, state__in=OWED, done_on__isnull=True, due_on__lte=until)
        return waiting_of(rows, lambda row: _deadline(row, reader), "deadlines", kind=kind)

    return find


def _deadline(row: Any, reader: Reader) -> Line:
    title = row.title[:1].upper() + row.title[1:]
    about = names([row.site.name if row.site else "", due_in(row.due_on, reader.on)])
    page, key = ("patch", row.patch.public_id) if row.patch_id else ("deadlines", None)
    return Line(title, about, page, key)


def plan_changes(reader: Reader) -> Waiting | None:
    """What a plan rests on and somebody changed since the one in force was accepted, by what was changed."""
    run = plan_in_force(reader.season) if reader.season else None
    if run is None or reader.season is None:
        return None
    since = Change.objects.filter(at__gt=run.accepted_at, entity__in=PLAN_RESTS_ON)
    counted = since.order_by("entity").values_list("entity").annotate(count=Count("id"))
    lines = [Line(f"{PLAN_RESTS_ON[entity]}: {count}") for entity, count in counted]
    total = sum(count for _, count in counted)
    return Waiting(total, lines, "season-plans", keys=(reader.season.public_id,)) if total else None


def _follow_ups(reader: Reader) -> Waiting | None:
    if reader.season is None:
        return None
    rows = Prescription.objects.filter(season=reader.season, origin="follow_up", state="open")
    rows = rows.select_related("patch__site", "method").defer("patch__site__boundary").order_by("first_day", "id")

    def line(row: Any) -> Line:
        return Line(f"{row.patch}: {row.method.name}", f"from {row.first_day}", "patch", row.patch.public_id)

    found = waiting_of(rows, line, "season-board")
    return Waiting(found.count, found.lines, found.page, keys=(reader.season.public_id,)) if found else None


def _rate_drafts(reader: Reader) -> Waiting | None:
    rows = RateBook.objects.filter(state="draft").order_by("-id")
    return waiting_of(rows, lambda row: Line(str(row), page="rate-book", key=row.public_id), "rate-books")


CARDS = (
    Card(
        code="seed",
        one="{count} patch must be cut before it fruits, within six weeks or late already",
        many="{count} patches must be cut before they fruit, within six weeks or late already",
        roles=SAFETY,
        find=_deadlines("seed"),
    ),
    Card(
        code="window",
        one="{count} window closes within two weeks",
        many="{count} windows close within two weeks",
        roles=DESK,
        find=_deadlines("window"),
    ),
    Card(
        code="stock",
        one="{count} product runs short of what orders take",
        many="{count} products run short of what orders take",
        roles=SAFETY,
        find=_deadlines("stock"),
    ),
    Card(
        code="license",
        one="{count} license or training ends within two months",
        many="{count} licenses and trainings end within two months",
        roles=SUPERVISION,
        find=_deadlines("license"),
    ),
    Card(
        code="label",
        one="{count} label is due for review",
        many="{count} labels are due for review",
        roles=SUPERVISION,
        find=_deadlines("label"),
    ),
    Card(
        code="plan_old",
        one="{count} change since the plan was accepted, of what a plan rests on",
        many="{count} changes since the plan was accepted, of what a plan rests on",
        roles=DESK,
        find=plan_changes,
    ),
    Card(
        code="follow_ups",
        one="{count} follow-up has no day yet",
        many="{count} follow-ups have no day yet",
        roles=DESK,
        find=_follow_ups,
    ),
    Card(
        code="rate_drafts",
        one="{count} rate book is a draft",
        many="{count} rate books are drafts",
        roles=DESK,
        find=_rate_drafts,
    ),
)
