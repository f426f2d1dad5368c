"""Uses of a mix, and what an applicator signs of them. All invented."""

from datetime import UTC, date, datetime, timedelta

from orders.supplies.models import Product
from orders.workorders.models import Application
from orders.workorders.records.signing import Signature
from tests import build

DAY = date(2026, 7, 2)
ENDED = datetime(2026, 7, 2, 19, 40, tzinfo=UTC)  # 15:40 in New York
SIGNED = ENDED + timedelta(hours=1)
CODE = "herb"


def site_in(jurisdiction="KY", **facts):
    place = build.JurisdictionFactory(code=jurisdiction)
    return build.SiteFactory(time_zone="America/New_York", jurisdiction=place, **facts)


def batch_at(site, *, product=None, **facts):
    """10 L of mix with 0.2 L of product."""
    known = Product.objects.filter(code=CODE).first()
    product = product or known or build.ProductFactory(code=CODE, registration_number="99901-7")
    return build.MixBatchFactory(site=site, work_date=DAY, parts=[{"product": product}], **facts)


def use(batch=None, *, jurisdiction="KY", **facts) -> Application:
    """4 L of it on one order, from 14:40 to 15:40."""
    batch = batch or batch_at(site_in(jurisdiction))
    told = {"work_date": DAY, "started_at": ENDED - timedelta(hours=1), "at": ENDED, **facts}
    return build.ApplicationFactory(batch=batch, **told)


VALUES = {
    "requester": "Invented Land Trust, 1 Mill Lane",
    "location": "Preserve, north slope",
    "area_treated": {"value": "0.5", "unit": "acre"},
    "use_site": "Natural area",
    "target_pest": "wintercreeper",
    "date": "2026-07-02",
    "start_time": "2026-07-02T14:40:00-04:00",
    "end_time": "2026-07-02T15:40:00-04:00",
    "product": {CODE: "Invented herb"},
    "registration_number": {CODE: "99901-7"},
    "amount": {CODE: {"value": "2.7", "unit": "fl oz"}},
    "rate": {CODE: "2%"},
    "applicator": "A. Applicator",
    "license_number": "KY-1001",
    "equipment": "Backpack sprayer",
    "wind": {"speed_m_s": 2.1, "from_deg": 270},
    "air_temperature": 21.5,
    "language": "English",
}


def signature(application: Application, *, at=SIGNED, without=(), **facts) -> Signature:
    values = {code: value for code, value in VALUES.items() if code not in without}
    told = {"values": values, "signed_by": "A. Applicator", "at": at, **facts}
    where = {name: getattr(application, name) for name in ("batch", "site", "work_date", "responsible")}
    return Signature(**{**where, **told})
