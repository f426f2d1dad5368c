"""Mixes made, put on patches, and left at the end of the day; weather checks."""

from orders.bodies.chemicals import ApplicationIn, MixBatchIn, MixDayEndIn, WeatherCheckIn
from orders.commands.conflicts import conflicts_flag
from orders.commands.doubts.chemicals import application_doubts, batch_doubts, day_end_doubts, weather_doubts
from orders.commands.heard import Heard, hears
from orders.commands.lookups import all_named, maybe_named, named, said
from orders.commands.work import order_of
from orders.costs.services.stocking import mix_day_end_posted
from orders.crews.models import Crew, Person
from orders.planning.models import Prescription, Visit
from orders.sites.models import Site
from orders.supplies.models import Mix, Product, StockLot
from orders.workorders.applying import application_add
from orders.workorders.mixing import mix_batch_add
from orders.workorders.models import Application, BatchPart, MixBatch, MixDayEnd, WeatherCheck
from orders.workorders.weather_checks import weather_check_add

MEASURED = (
    "air_temperature_c",
    "relative_humidity_percent",
    "wind_m_s",
    "gust_m_s",
    "wind_from_deg",
    "sky",
    "inversion_signs",
    "rain_expected_hours",
)


@hears("mix-batch", MixBatchIn)
def mix_batch_hear(heard: Heard) -> None:
    body = heard.body
    batch = MixBatch(
        public_id=body["id"],
        at=heard.happened_at,
        crew=named(Crew, body["crew"], "crew"),
        site=named(Site, body["site"], "site"),
        mix=maybe_named(Mix, body.get("mix"), "mix"),
        mixed_by=named(Person, body["mixed_by"], "mixed_by"),
        supervised_by=maybe_named(Person, body.get("supervised_by"), "supervised_by"),
        **said(body, "work_date", "carrier_ul", "volume_ul", "container", "notes"),
    )
    kept = mix_batch_add(batch=batch, parts=_parts(heard), stamp=heard.stamp)
    batch_doubts(heard, kept)


def _parts(heard: Heard) -> list[BatchPart]:
    told = heard.body["parts"]
    products = all_named(Product, [part["product"] for part in told], "parts.product", by="code")
    lots = all_named(StockLot, [part.get("lot") for part in told], "parts.lot")
    return [
        BatchPart(
            product=products[part["product"]],
            lot=lots.get(part.get("lot")),
            entered_value=part["value"],
            entered_unit=part["unit"],
            **said(part, "lot_text"),
        )
        for part in told
    ]


@hears("application", ApplicationIn, needs_order=True)
def application_hear(heard: Heard) -> None:
    body = heard.body
    people = all_named(Person, body["people"], "people")
    application = Application(
        public_id=body["id"],
        at=body["ended_at"],
        order=order_of(heard),
        batch=named(MixBatch, body["batch"], "batch"),
        visit=maybe_named(Visit, body.get("visit"), "visit"),
        prescription=maybe_named(Prescription, body.get("prescription"), "prescription"),
        site=named(Site, body["site"], "site"),
        responsible=named(Person, body["responsible"], "responsible"),
        replaces=maybe_named(Application, body.get("replaces"), "replaces"),
        **said(body, "work_date", "started_at", "volume_ul", "area_m2", "equipment", "minutes_from_cut"),
    )
    kept = application_add(application=application, people=list(people.values()), stamp=heard.stamp)
    conflicts_flag(heard)
    application_doubts(heard, kept)


@hears("mix-day-end", MixDayEndIn)
def mix_day_end_hear(heard: Heard) -> None:
    body = heard.body
    day_end = MixDayEnd(
        public_id=body["id"],
        at=heard.happened_at,
        batch=named(MixBatch, body["batch"], "batch"),
        replaces=maybe_named(MixDayEnd, body.get("replaces"), "replaces"),
        **said(body, "work_date", "carried_over_ul", "disposed_ul", "container", "how_disposed", "rinsate"),
        **said(body, "empties", "empties_note"),
    )
    kept = mix_day_end_posted(day_end=day_end, stamp=heard.stamp)
    day_end_doubts(heard, kept)


@hears("weather-check", WeatherCheckIn)
def weather_check_hear(heard: Heard) -> None:
    body = heard.body
    check = WeatherCheck(
        public_id=body["id"],
        at=heard.happened_at,
        order=heard.order,
        site=named(Site, body["site"], "site"),
        batch=maybe_named(MixBatch, body.get("batch"), "batch"),
        **said(body, "work_date", "purpose", "passed_by", "passed_reason", *MEASURED),
    )
    kept = weather_check_add(check=check, stamp=heard.stamp)
    conflicts_flag(heard)
    weather_doubts(heard, kept, body.get("passed_by") or "", body.get("passed_reason") or "")
