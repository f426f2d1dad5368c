"""What a tablet says of a crew's day: who is where, the briefing, time by person, the day sheet."""

from orders.bodies.base import Body, many
from orders.bodies.documents import Document
from orders.bodies.fields import Choice, Day, Id, Moment, Text, Whole
from orders.bodies.optional import MAY, MAY_SAY, ids, latitude, longitude
from orders.field.models.days import SPLIT_RULES
from orders.workorders.models import TIME_CODES, TimedSpan, TimeEntry

MOST_PEOPLE = 60
MOST_ORDERS = 60
MOST_HAZARDS = 40
MOST_LINES = 100
MINUTES_A_DAY = 24 * 60


class CheckInIn(Body):
    id = Id()
    crew = Id()
    site = Id()
    back_by = Moment()
    people = ids(most=MOST_PEOPLE, allow_empty=False)
    phone = Text(max_length=40, **MAY_SAY)
    note = Text(max_length=200, **MAY_SAY)
    lon = longitude()
    lat = latitude()


class CheckInLongerIn(Body):
    id = Id()
    check_in = Id()
    back_by = Moment()
    note = Text(max_length=200, **MAY_SAY)


class CheckOutIn(Body):
    id = Id()
    check_in = Id()
    note = Text(max_length=200, **MAY_SAY)


class HazardIn(Body):
    code = Text(max_length=40)
    control = Text(max_length=400, allow_blank=True, default="")


class BriefingIn(Body):
    id = Id()
    crew = Id()
    site = Id()
    led_by = Id()
    orders = ids(most=MOST_ORDERS)
    people = ids(most=MOST_PEOPLE)
    conditions = Document()
    computed = Document()
    hazards = many(HazardIn, most=MOST_HAZARDS)
    notes = Text(max_length=4000, **MAY_SAY)


class VisitNotDoneIn(Body):
    visit = Id()
    reason = Text(max_length=400)


class TimeSpanIn(Body):
    id = Id()
    crew = Id()
    person = Id()
    work_date = Day()
    code = Choice(TIME_CODES)
    visit = Id(**MAY)
    prescription = Id(**MAY)
    step = Text(max_length=40, **MAY_SAY)
    started_at = Moment(**MAY)
    ended_at = Moment(**MAY)
    minutes = Whole(max_value=MINUTES_A_DAY, help_text="0 strikes the span that it replaces.")
    origin = Choice(TimedSpan.ORIGINS)
    replaces = Id(**MAY)
    why = Text(max_length=200, **MAY_SAY)


class DayLineIn(Body):
    code = Choice(TIME_CODES)
    order = Id(**MAY)
    minutes = Whole(min_value=1, max_value=MINUTES_A_DAY)
    origin = Choice(TimeEntry.ORIGINS)
    note = Text(max_length=200, **MAY_SAY)


class DaySheetIn(Body):
    id = Id()
    crew = Id()
    person = Id()
    work_date = Day()
    rule = Choice(SPLIT_RULES)
    lines = many(DayLineIn, most=MOST_LINES, allow_empty=False)
    confirmed_by = Text(max_length=120)
    reason = Text(max_length=300, **MAY_SAY)
