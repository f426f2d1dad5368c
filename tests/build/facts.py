"""What crews state of orders and mixes: time, batches, uses, weather, records, incidents, signs and pictures."""

import uuid
from datetime import date, timedelta
from decimal import Decimal

import factory

from orders.workorders import models as workorders
from tests.build.base import NOW, WORK_DAY, WORKED_AT, Build, FactFactory, UserFactory
from tests.build.people import CrewFactory, PersonFactory
from tests.build.places import SiteFactory
from tests.build.season import WorkOrderFactory
from tests.build.stock import MixFactory, ProductFactory, StockLotFactory

UL_PER_L = 1_000_000


class TimedSpanFactory(FactFactory):
    class Meta:
        model = workorders.TimedSpan

    crew = factory.SubFactory(CrewFactory, people=3)
    person = factory.SubFactory(PersonFactory)
    work_date = WORK_DAY
    code = "work"
    order = factory.SubFactory(WorkOrderFactory)
    started_at = WORKED_AT - timedelta(hours=4)
    ended_at = WORKED_AT
    minutes = 240
    origin = "timer"


class MixBatchFactory(FactFactory):
    """10 L with one part; `parts=[{...}]` gives others."""

    class Meta:
        model = workorders.MixBatch

    crew = factory.SubFactory(CrewFactory, people=3)
    site = factory.SubFactory(SiteFactory)
    work_date = WORK_DAY
    mix = factory.SubFactory(MixFactory)
    mixed_by = factory.SubFactory(PersonFactory)
    carrier_ul = 9_800_000
    volume_ul = 10 * UL_PER_L
    container = factory.Sequence(lambda n: f"Backpack {n}")

    @factory.post_generation
    def parts(self, create, extracted, **kwargs):
        for facts in [{}] if extracted is None else extracted:
            BatchPartFactory(batch=self, **facts)


class BatchPartFactory(Build):
    class Meta:
        model = workorders.BatchPart

    batch = factory.SubFactory(MixBatchFactory, parts=[])
    product = factory.SubFactory(ProductFactory)
    lot = factory.SubFactory(StockLotFactory, product=factory.SelfAttribute("..product"))
    amount = 200_000
    entered_value = Decimal(200)
    entered_unit = "mL"


class ApplicationFactory(FactFactory):
    """`people=[...]` held the sprayer or the brush."""

    class Meta:
        model = workorders.Application

    batch = factory.SubFactory(MixBatchFactory)
    order = factory.SubFactory(WorkOrderFactory)
    site = factory.SelfAttribute("batch.site")
    work_date = WORK_DAY
    responsible = factory.SubFactory(PersonFactory)
    started_at = WORKED_AT - timedelta(hours=1)
    volume_ul = 4 * UL_PER_L

    @factory.post_generation
    def people(self, create, extracted, **kwargs):
        for person in extracted or []:
            ApplicationPersonFactory(application=self, person=person)


class ApplicationPersonFactory(Build):
    class Meta:
        model = workorders.ApplicationPerson

    application = factory.SubFactory(ApplicationFactory)
    person = factory.SubFactory(PersonFactory)


class MixDayEndFactory(FactFactory):
    class Meta:
        model = workorders.MixDayEnd

    batch = factory.SubFactory(MixBatchFactory)
    work_date = WORK_DAY
    disposed_ul = UL_PER_L
    how_disposed = "Sprayed out on site within the label's rate"


class WeatherCheckFactory(FactFactory):
    class Meta:
        model = workorders.WeatherCheck

    site = factory.SubFactory(SiteFactory)
    work_date = WORK_DAY
    purpose = "start"
    air_temperature_c = 12.0
    relative_humidity_percent = 50.0
    wind_m_s = 2.0
    verdict = "go"


class RecordProfileFactory(Build):
    """Of a place that no migration fills."""

    class Meta:
        model = workorders.RecordProfile

    jurisdiction = factory.Sequence(lambda n: f"Y{n}")
    first_day = date(2020, 1, 1)
    counts = "days"
    days = 14
    keep_years = 2
    required = factory.LazyFunction(lambda: ["product", "date", "location"])
    source = "invented"


class ApplicationRecordFactory(FactFactory):
    class Meta:
        model = workorders.ApplicationRecord

    batch = factory.SubFactory(MixBatchFactory)
    site = factory.SelfAttribute("batch.site")
    work_date = WORK_DAY
    responsible = factory.SubFactory(PersonFactory)
    revision = 1
    profile = factory.SubFactory(RecordProfileFactory)
    started_at = WORKED_AT - timedelta(hours=1)
    ended_at = WORKED_AT
    due_on = date(2027, 2, 24)
    values = factory.LazyFunction(lambda: {"version": 1})
    signed_by = "A. Applicator"
    retain_until = date(2029, 2, 10)


class RecordHoldFactory(Build):
    class Meta:
        model = workorders.RecordHold

    record = factory.SubFactory(ApplicationRecordFactory)
    why = "Asked for by an inspector."
    placed_by = factory.SubFactory(UserFactory, roles=["pesticide_supervisor"])
    placed_at = NOW


class IncidentFactory(FactFactory):
    class Meta:
        model = workorders.Incident

    kind = "near_miss"
    site = factory.SubFactory(SiteFactory)
    work_date = WORK_DAY
    what_happened = "A cut stem swung back and missed the sawyer."
    reported_by = "C. Lead"


class IncidentNoteFactory(Build):
    class Meta:
        model = workorders.IncidentNote

    incident = factory.SubFactory(IncidentFactory)
    note = "Talked over at the next briefing."
    by = factory.SubFactory(UserFactory, roles=["coordinator"])
    at = WORKED_AT


class SignPostingFactory(FactFactory):
    class Meta:
        model = workorders.SignPosting

    sign = factory.LazyFunction(uuid.uuid4)
    state = "up"
    site = factory.SubFactory(SiteFactory)
    place = "North gate"


class PhotoFactory(Build):
    class Meta:
        model = workorders.Photo

    order = factory.SubFactory(WorkOrderFactory)
    subject = "after"
    taken_at = WORKED_AT
    received_at = WORKED_AT
    content_type = "image/jpeg"
    size_bytes = 1000
    sha256 = "0" * 64
