"""What a tablet says of mixes: made, put on a patch, left at the end of the day; and of the weather."""

from orders.bodies.base import Body, many
from orders.bodies.fields import Choice, Day, Exact, Flag, Id, Moment, Number, Text, Whole
from orders.bodies.optional import MAY, MAY_SAY, ids
from orders.supplies.amounts import ENTRY_UNITS
from orders.workorders.models import WeatherCheck

MOST_UL = 10**12  # a million liters: more is a slip of the finger
MOST_PARTS = 20
MOST_PEOPLE = 60


def volume(*, least: int = 0) -> Whole:
    return Whole(min_value=least, max_value=MOST_UL)


class BatchPartIn(Body):
    product = Text(max_length=30, help_text="Its code.")
    lot = Id(**MAY)
    lot_text = Text(max_length=40, **MAY_SAY)
    value = Exact()
    unit = Choice(ENTRY_UNITS)


class MixBatchIn(Body):
    id = Id()
    crew = Id()
    site = Id()
    work_date = Day()
    mix = Id(**MAY)
    mixed_by = Id()
    supervised_by = Id(**MAY)
    carrier_ul = volume()
    volume_ul = volume(least=1)
    container = Text(max_length=60, allow_blank=True)
    notes = Text(max_length=400, **MAY_SAY)
    parts = many(BatchPartIn, most=MOST_PARTS, allow_empty=False)


class ApplicationIn(Body):
    id = Id()
    batch = Id()
    visit = Id(**MAY)
    prescription = Id(**MAY)
    site = Id()
    work_date = Day()
    responsible = Id()
    people = ids(most=MOST_PEOPLE)
    started_at = Moment()
    ended_at = Moment()
    volume_ul = volume(least=1)
    area_m2 = Number(min_value=0, max_value=1e9, **MAY)
    equipment = Text(max_length=80, **MAY_SAY)
    minutes_from_cut = Whole(max_value=30_000, **MAY)
    replaces = Id(**MAY)


class MixDayEndIn(Body):
    id = Id()
    batch = Id()
    work_date = Day()
    carried_over_ul = volume()
    disposed_ul = volume()
    container = Text(max_length=60, **MAY_SAY)
    how_disposed = Text(max_length=200, **MAY_SAY)
    rinsate = Text(max_length=200, **MAY_SAY)
    empties = Whole(max_value=10_000)
    empties_note = Text(max_length=200, **MAY_SAY)
    replaces = Id(**MAY)


class WeatherCheckIn(Body):
    id = Id()
    site = Id()
    batch = Id(**MAY)
    work_date = Day()
    purpose = Choice(WeatherCheck.PURPOSES)
    air_temperature_c = Number(min_value=-60, max_value=60, **MAY)
    relative_humidity_percent = Number(min_value=0, max_value=100, **MAY)
    wind_m_s = Number(min_value=0, max_value=100, **MAY)
    gust_m_s = Number(min_value=0, max_value=100, **MAY)
    wind_from_deg = Number(min_value=0, max_value=360, **MAY)
    sky = Text(max_length=60, **MAY_SAY)
    inversion_signs = Flag(**MAY)
    rain_expected_hours = Number(min_value=0, max_value=1000, **MAY)
    passed_by = Text(max_length=120, **MAY_SAY)
    passed_reason = Text(max_length=300, **MAY_SAY)
