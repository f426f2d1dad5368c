"""What the office sees of the field, in the states that look different."""

import hashlib
import json
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path

from django.conf import settings
from PIL import Image

from orders.common.clock import now
from orders.workorders.models import WorkOrder
from tests import build

DAY = date(2027, 2, 10)
DETAIL = "Wind of 12 mph was measured at the start; the label allows 10 mph at most."


def _crew():
    crew = build.CrewFactory(name="Hollow crew", people=0)
    for number, name in enumerate(("R. Teasel", "P. Sedge", "A. Larkspur")):
        person = build.PersonFactory(name=name)
        build.CrewMembershipFactory(crew=crew, person=person, is_lead=number == 0, first_day=date(2026, 1, 1))
    return crew


def _people(crew):
    return [member.person for member in crew.memberships.select_related("person").order_by("id")]


def _site():
    return build.SiteFactory(code="HOLLOW", name="Hollow Run", radio_or_phone="Radio channel 3; no phone in the ravine")


def out_now() -> str:
    """One crew late, one in time, a briefing, a sign that hangs too long, an urgent flag."""
    crew, site, at = _crew(), _site(), now()
    people = _people(crew)
    late = {"back_by": at - timedelta(minutes=50), "at": at - timedelta(hours=6), "phone": "555-0142"}
    check_in = build.CheckInFactory(crew=crew, site=site, people=people, note="North end, by the old quarry", **late)
    build.OverdueAlertFactory(check_in=check_in, taken_by=build.UserFactory(username="cora"), taken_at=at)
    other = build.CheckInFactory(site=build.SiteFactory(name="Oxbow Meadow"), back_by=at + timedelta(hours=2))
    build.CheckInPersonFactory(check_in=other, person=build.PersonFactory(name="Solo Vetch"))
    build.BriefingFactory(
        crew=crew,
        site=site,
        at=at - timedelta(hours=6),
        work_date=at.date(),
        led_by=people[0],
        people=[{"id": str(person.public_id), "name": person.name} for person in people],
        conditions={"air_temperature_c": 33.0, "relative_humidity_percent": 60.0, "wind_m_s": 2.0, "full_sun": True},
        computed={"heat_index_c": 40.7, "heat_band": "high", "work_minutes_per_hour": 30, "rest_minutes_per_hour": 30},
        hazards=[
            {"code": "heat", "control": "Shade at the truck, water every 20 minutes."},
            {"code": "ticks", "control": "Long sleeves; check at noon."},
        ],
    )
    build.SignPostingFactory(site=site, place="North gate", at=at - timedelta(days=6))
    build.FlagFactory(
        severity="urgent", kind="deviation", title="Sprayed outside a mandatory limit", site=site, crew=crew
    )
    return "/field/"


def flags() -> str:
    site, crew = _site(), _crew()
    build.FlagFactory(
        severity="urgent",
        kind="deviation",
        title="Sprayed outside a mandatory limit",
        detail=DETAIL,
        site=site,
        crew=crew,
    )
    build.FlagFactory(
        title="An order was closed twice", kind="held", order=build.WorkOrderFactory(number=31, crew=crew, site=site)
    )
    build.FlagFactory(severity="note", kind="clock_skew", title="The clock of Tablet 4 is 12 minutes ahead")
    return "/flags/"


def flag() -> str:
    made = build.FlagFactory(
        severity="urgent", kind="deviation", title="Sprayed outside a mandatory limit", detail=DETAIL, site=_site()
    )
    return f"/flags/{made.public_id}/"


def _closed() -> WorkOrder:
    crew, site = _crew(), _site()
    order = build.WorkOrderFactory(number=31, crew=crew, site=site, state="closed", first_day=DAY, last_day=DAY)
    order.instructions = "Park at the gate. The key is in the truck."
    order.started_at = order.closed_at = build.WORKED_AT
    order.save()
    work = build.PrescriptionFactory()
    visit = build.VisitFactory(prescriptions=[work], crew=crew, site=site, day=DAY, state="done")
    build.OrderVisitFactory(order=order, visit=visit)
    close_out = build.CloseOutFactory(order=order, work_date=DAY, confirmed_by="R. Teasel")
    build.PatchOutcomeFactory(
        close_out=close_out, prescription=work, percent_complete=80, stems_cut=412, area_done_m2=900.0
    )
    for person in _people(crew):
        build.TimeEntryFactory(close_out=close_out, visit=visit, person=person, prescription=work, minutes=270)
    build.MaterialUseFactory(close_out=close_out, visit=visit)
    return order


def held() -> str:
    """Two tablets closed one order: the second is held beside the first."""
    order = _closed()
    visit = order.order_visits.get().visit
    work, people = visit.shares.get().prescription, _people(order.crew)
    body = {
        "work_date": DAY.isoformat(),
        "happened_at": build.WORKED_AT.isoformat(),
        "confirmed_by": "P. Sedge",
        "outcomes": [{"prescription": str(work.public_id), "percent_complete": 100}],
        "times": [
            {"visit": str(visit.public_id), "person": str(person.public_id), "minutes": minutes, "origin": "timer"}
            for person, minutes in zip(people, (270, 300), strict=False)
        ],
        "materials": [],
    }
    lead = build.UserFactory(roles=["crew_lead"])
    envelope = {
        "id": "6f8c6b57-7c7e-4f0a-9d67-31f1d1b6a001",
        "seq": 7,
        "user": str(lead.public_id),
        "kind": "close-order",
        "schema": 1,
        "order": str(order.public_id),
        "happened_at": build.WORKED_AT.isoformat(),
        "app_version": "1.0",
        "body": body,
    }
    told = {"state": "held", "message": "Work order 31 is closed already."}
    command = build.CommandFactory(
        kind="close-order", order=order, user=lead, seq=7, state="held", raw=json.dumps(envelope), answer=told
    )
    made = build.FlagFactory(
        kind="held", title="A second close-out of work order 31 is held", order=order, command=command
    )
    return f"/flags/{made.public_id}/"


def settled() -> str:
    made = build.FlagFactory(
        state="settled", settled_at=now(), resolution="seen", note="Talked over with the crew lead."
    )
    return f"/flags/{made.public_id}/"


def tablets() -> str:
    at = now()
    used = {"last_contact_at": at, "app_version": "2027.1", "waiting_told": 3, "skew_seconds": 720}
    device = build.DeviceFactory(
        name="Orange case", users=[build.UserFactory(username="lee", first_name="Lee", last_name="Vetch")], **used
    )
    build.DeviceFactory(name="Blue case", revoked_at=at, revoke_reason="Lost in the river")
    build.DeviceFactory(name="Old one", expires_on=date(2026, 1, 1))
    build.CommandFactory(device=device, state="applied", seq=1)
    build.CommandFactory(
        device=device, state="held", seq=2, kind="close-order", answer={"message": "The order is void."}
    )
    return "/tablets/"


def tablet() -> str:
    tablets()
    return f"/tablets/{build.DeviceFactory._meta.model.objects.get(name='Orange case').public_id}/"


def orders() -> str:
    order = _closed()
    for number, state in ((32, "draft"), (33, "issued"), (34, "underway"), (35, "void")):
        more = {"void_reason": "Rain all week."} if state == "void" else {}
        build.WorkOrderFactory(number=number, crew=order.crew, site=order.site, state=state, **more)
    build.FlagFactory(order=order)
    return "/orders/"


def _picture(order) -> None:
    """A small invented picture, whole, and one that is still coming."""
    made = BytesIO()
    Image.new("RGB", (320, 240), (96, 128, 72)).save(made, "JPEG")
    data = made.getvalue()
    facts = {"size_bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
    photo = build.PhotoFactory(order=order, state="whole", received_bytes=len(data), caption="From the gate", **facts)
    path = Path(settings.PHOTO_DIR) / str(photo.public_id)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    build.PhotoFactory(order=order, subject="before", received_bytes=400)


def order() -> str:
    made = _closed()
    people = _people(made.crew)
    work = made.order_visits.get().visit.shares.get().prescription
    batch = build.MixBatchFactory(
        crew=made.crew, site=made.site, mixed_by=people[0], container="Backpack 2", work_date=DAY
    )
    build.ApplicationFactory(
        batch=batch,
        order=made,
        prescription=work,
        responsible=people[0],
        people=people[1:],
        area_m2=900.0,
        minutes_from_cut=12,
    )
    build.MixDayEndFactory(batch=batch, work_date=DAY, disposed_ul=1_000_000, rinsate="Sprayed on the patch", empties=1)
    build.WeatherCheckFactory(
        site=made.site,
        order=made,
        batch=batch,
        wind_m_s=5.5,
        verdict="no_go",
        findings=[{"kind": "label-mandatory", "words": "Wind above 10 mph."}],
    )
    build.TimedSpanFactory(order=made, crew=made.crew, person=people[0], prescription=work)
    build.SignPostingFactory(site=made.site, order=made)
    build.IncidentFactory(site=made.site, crew=made.crew, order=made)
    build.BriefingFactory(crew=made.crew, site=made.site, led_by=people[0], orders=[str(made.public_id)])
    build.FlagFactory(order=made, title="412 stems are twice what was surveyed", severity="note")
    _picture(made)
    return f"/orders/{made.public_id}/"


def order_bare() -> str:
    return f"/orders/{build.WorkOrderFactory(number=36, state='draft').public_id}/"


def day_sheets() -> str:
    made = _closed()
    lead, second, _ = _people(made.crew)
    lines = [{"order": made, "minutes": 330}, {"code": "shop", "order": None, "minutes": 90}]
    sheet = build.DaySheetFactory(crew=made.crew, person=lead, lines=lines)
    build.DayShareFactory(line=build.DayLineFactory(sheet=sheet, code="drive", order=None, minutes=60), order=made)
    build.DaySheetFactory(crew=made.crew, person=second, lines=[{"order": made, "minutes": 270}], minutes=270)
    return f"/day-sheets/?day={DAY}"


def incidents() -> str:
    site, crew = _site(), _crew()
    build.IncidentFactory(site=site, crew=crew)
    done = build.IncidentFactory(
        site=site,
        crew=crew,
        kind="spill",
        what_happened="About a pint of mix ran out of a backpack at the truck.",
        work_stopped=True,
    )
    build.IncidentNoteFactory(incident=done, is_closing=True)
    return "/incidents/"


def incident() -> str:
    made = build.IncidentFactory(
        site=_site(),
        crew=_crew(),
        kind="spill",
        work_stopped=True,
        people=["P. Sedge"],
        what_happened="About a pint of mix ran out of a backpack at the truck.",
        what_was_done="Soaked up and bagged.",
        told="The supervisor, by phone",
    )
    build.IncidentNoteFactory(incident=made)
    return f"/incidents/{made.public_id}/"


STATES = {
    "out-now": out_now,
    "out-now-empty": lambda: "/field/",
    "flags": flags,
    "flags-empty": lambda: "/flags/",
    "flag": flag,
    "flag-held": held,
    "flag-settled": settled,
    "tablets": tablets,
    "tablets-empty": lambda: "/tablets/",
    "tablet": tablet,
    "orders": orders,
    "orders-empty": lambda: "/orders/",
    "order": order,
    "order-bare": order_bare,
    "day-sheets": day_sheets,
    "day-sheets-empty": lambda: "/day-sheets/",
    "incidents": incidents,
    "incidents-empty": lambda: "/incidents/",
    "incident": incident,
    "field-policy": lambda: "/field/policy/",
}
