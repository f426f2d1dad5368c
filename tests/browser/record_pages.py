"""Records and rules in the states that look different, and what is printed of them."""

from datetime import date, timedelta

from orders.workorders.models import RecordProfile
from orders.workorders.records.draft import record_draft
from orders.workorders.records.groups import group_find
from orders.workorders.records.signing import Signature, record_amend, record_sign
from tests import build
from tests.workorders.orders import spray_order
from tests.workorders.records.uses import DAY, ENDED, SIGNED, signature, use

WIND = {"low": 0.89, "high": 4.47, "kind": "label-mandatory", "reference": "Label, section 2"}
COLD = {"measure": "temperature_c", "low": 4.4, "high": None, "kind": "label-advisory", "reference": "Label, section 2"}
AMENDED = "The owner's address was missing"


def _stamp():
    return build.stamp(by=build.UserFactory(first_name="Cora", last_name="Finch"), at=SIGNED)


def _product():
    return build.ProductFactory(
        code="herb",
        name="Ketterline T-360",
        registration_number="99901-7",
        uses=[{"method": "spot-foliar", "max_percent_vv": 5.0, "max_l_per_ha": 11.7}],
        weather=[WIND, COLD],
        protective_equipment="Long sleeves, gloves that chemicals do not pass, goggles",
        cautions="Burns the eyes: rinse for 15 minutes and get help.",
    )


def _named_use(name="Hollow Preserve", jurisdiction="OH", **facts):
    application = use(jurisdiction=jurisdiction, responsible=build.PersonFactory(name="R. Teasel"), **facts)
    application.site.name = name
    application.site.save()
    return application


def record() -> str:
    """Signed incomplete, then amended, and on hold."""
    _product()
    application = _named_use()
    stamp = _stamp()
    first = record_sign(signature=signature(application, without=("requester",)), stamp=stamp)
    again = record_amend(record=first, signature=signature(application), reason=AMENDED, stamp=stamp)
    build.RecordHoldFactory(record=again, placed_by=stamp.by)
    return f"/records/{again.public_id}/"


def record_incomplete() -> str:
    _product()
    late = signature(_named_use(), without=("requester", "wind", "language"), at=SIGNED + timedelta(days=2))
    return f"/records/{record_sign(signature=late, stamp=_stamp()).public_id}/"


def record_spanish() -> str:
    return f"{record()}?lang=es"


def _signed_from_facts(application) -> None:
    group = group_find(application.batch, application.site, DAY, application.responsible)
    assert group is not None
    where = {name: getattr(application, name) for name in ("batch", "site", "work_date", "responsible")}
    record_sign(
        signature=Signature(**where, values=record_draft(group), signed_by="R. Teasel", at=SIGNED), stamp=_stamp()
    )


def listed() -> str:
    record()
    for name, state in (("Lantern Ridge", "KY"), ("Oxbow", "IN")):
        application = _named_use(name, state, at=ENDED + timedelta(minutes=30), area_m2=2000.0)
        _signed_from_facts(application)
    return "/records/"


def owed() -> str:
    record_incomplete()
    _named_use("Lantern Ridge", "KY")
    _named_use("Oxbow", "MO")
    return "/records/owed/"


def rules() -> str:
    RecordProfile.objects.filter(jurisdiction="OH").update(reviewed_by="Pia Rowan", reviewed_on=date(2026, 11, 2))
    build.RecordProfileFactory(jurisdiction="KY", first_day=date(2030, 1, 1), required=["product", "date"])
    return "/records/rules/"


def rule() -> str:
    return f"/records/rules/{RecordProfile.objects.get(jurisdiction='IL').public_id}/"


def order_print() -> str:
    order = spray_order(product=_product(), area_m2=1_200.0)
    order.instructions = "Begin at the creek. Leave the flagged trees alone."
    order.save()
    site = order.site
    site.name, site.access_notes = "Hollow Preserve", "Gate on Mill Lane, code at the office."
    site.nearest_medical_help, site.medical_phone = "Invented General Hospital", "555 0100"
    site.meeting_lon, site.meeting_lat = -85.7, 38.2
    site.save()
    return f"/orders/{order.public_id}/print/"


def order_print_spanish() -> str:
    return f"{order_print()}?lang=es"


SUPERVISOR, LEAD, DESK = ("pesticide_supervisor",), ("crew_lead",), ("coordinator",)
STATES = {
    "records": (listed, DESK),
    "records-empty": (lambda: "/records/", LEAD),
    "records-owed": (owed, DESK),
    "records-owed-none": (lambda: "/records/owed/", LEAD),
    "record": (record, DESK),
    "record-incomplete": (record_incomplete, SUPERVISOR),
    "record-spanish": (record_spanish, DESK),
    "record-rules": (rules, LEAD),
    "record-rule": (rule, SUPERVISOR),
    "order-print": (order_print, DESK),
    "order-print-spanish": (order_print_spanish, DESK),
}
