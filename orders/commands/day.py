"""A crew's day: check-in and out, the briefing, time by person, the day sheet."""

from orders import flow
from orders.bodies.day import BriefingIn, CheckInIn, CheckInLongerIn, CheckOutIn, DaySheetIn, TimeSpanIn
from orders.commands.conflicts import conflicts_flag
from orders.commands.doubts.time import day_doubts, span_doubts
from orders.commands.heard import Heard, hears
from orders.commands.lookups import all_named, maybe_named, named, said
from orders.crews.models import Crew, Person
from orders.field.models import Briefing, CheckIn, CheckInStep, DaySheet
from orders.field.services.briefings import briefing_add
from orders.field.services.checkins import check_in_add, check_in_step_add
from orders.field.services.daysheets import LineStated
from orders.planning.models import Prescription, Visit
from orders.sites.models import Site
from orders.workorders.models import TimedSpan, WorkOrder
from orders.workorders.spans import time_span_add

SETTLED = "Settled at the desk."


@hears("check-in", CheckInIn)
def check_in_hear(heard: Heard) -> None:
    body = heard.body
    site = named(Site, body["site"], "site")
    check_in = CheckIn(
        public_id=body["id"],
        at=heard.happened_at,
        crew=named(Crew, body["crew"], "crew"),
        site=site,
        work_date=heard.day(site.time_zone),
        back_by=body["back_by"],
        **said(body, "phone", "note", "lon", "lat"),
    )
    people = all_named(Person, body["people"], "people")
    check_in_add(check_in=check_in, people=list(people.values()), stamp=heard.stamp)


@hears("check-in-longer", CheckInLongerIn)
def check_in_longer_hear(heard: Heard) -> None:
    _step(heard, "longer")


@hears("check-out", CheckOutIn)
def check_out_hear(heard: Heard) -> None:
    _step(heard, "out")


def _step(heard: Heard, kind: str) -> None:
    step = CheckInStep(
        public_id=heard.body["id"],
        at=heard.happened_at,
        check_in=named(CheckIn, heard.body["check_in"], "check_in"),
        kind=kind,
        **said(heard.body, "back_by", "note"),
    )
    check_in_step_add(step=step, stamp=heard.stamp)


@hears("briefing", BriefingIn)
def briefing_hear(heard: Heard) -> None:
    body = heard.body
    site = named(Site, body["site"], "site")
    orders = all_named(WorkOrder, body["orders"], "orders")
    people = all_named(Person, body["people"], "people")
    briefing = Briefing(
        public_id=body["id"],
        at=heard.happened_at,
        crew=named(Crew, body["crew"], "crew"),
        site=site,
        work_date=heard.day(site.time_zone),
        led_by=named(Person, body["led_by"], "led_by"),
        orders=[str(key) for key in orders],
        people=[{"id": str(key), "name": person.name} for key, person in people.items()],
        **said(body, "conditions", "computed", "hazards", "notes"),
    )
    briefing_add(briefing=briefing, stamp=heard.stamp)


@hears("time-span", TimeSpanIn)
def time_span_hear(heard: Heard) -> None:
    body = heard.body
    span = TimedSpan(
        public_id=body["id"],
        at=heard.happened_at,
        order=heard.order,
        crew=named(Crew, body["crew"], "crew"),
        person=named(Person, body["person"], "person"),
        visit=maybe_named(Visit, body.get("visit"), "visit"),
        prescription=maybe_named(Prescription, body.get("prescription"), "prescription"),
        replaces=maybe_named(TimedSpan, body.get("replaces"), "replaces"),
        **said(body, "work_date", "code", "step", "started_at", "ended_at", "minutes", "origin", "why"),
    )
    kept = time_span_add(span=span, stamp=heard.stamp)
    conflicts_flag(heard)
    span_doubts(heard, kept)


@hears("day-sheet", DaySheetIn)
def day_sheet_hear(heard: Heard) -> None:
    body = heard.body
    orders = all_named(WorkOrder, [line.get("order") for line in body["lines"]], "lines.order")
    lines = [
        LineStated(order=orders.get(line.get("order")), **said(line, "code", "minutes", "origin", "note"))
        for line in body["lines"]
    ]
    sheet = DaySheet(
        public_id=body["id"],
        at=heard.happened_at,
        crew=named(Crew, body["crew"], "crew"),
        person=named(Person, body["person"], "person"),
        **said(body, "work_date", "rule", "confirmed_by", "reason"),
    )
    if heard.decided_by is not None:  # it was held beside another sheet, and the desk takes this one
        sheet.reason = sheet.reason or SETTLED
    kept = flow.confirm_day_sheet(sheet=sheet, lines=lines, stamp=heard.stamp)
    day_doubts(heard, kept.person, kept.work_date)
