"""What a tablet says of mishaps, signs, and of what was newly seen."""

from rest_framework import serializers

from orders.bodies.base import Body
from orders.bodies.documents import Shape
from orders.bodies.fields import Choice, Day, Flag, Id, Number, Text
from orders.bodies.optional import MAY, MAY_SAY, latitude, longitude
from orders.workorders.models import Incident, SignPosting

MOST_NAMES = 60


class IncidentIn(Body):
    id = Id()
    kind = Choice(Incident.KINDS)
    crew = Id(**MAY)
    site = Id(**MAY)
    work_date = Day()
    what_happened = Text(max_length=4000)
    what_was_done = Text(max_length=4000, **MAY_SAY)
    people = serializers.ListField(child=Text(max_length=120), max_length=MOST_NAMES)
    told = Text(max_length=200, **MAY_SAY)
    work_stopped = Flag()
    lon = longitude()
    lat = latitude()
    reported_by = Text(max_length=120)


class SignIn(Body):
    id = Id()
    sign = Id()
    state = Choice(SignPosting.STATES)
    site = Id()
    place = Text(max_length=120)
    lon = longitude()
    lat = latitude()


class DetectionIn(Body):
    id = Id()
    site = Id()
    species = Text(max_length=20, **MAY, help_text="Its code.")
    species_text = Text(max_length=120, **MAY_SAY)
    growth_form = Text(max_length=20, help_text="Its code.")
    geometry = Shape("Point", "Polygon")
    accuracy_m = Number(min_value=0, max_value=100_000, **MAY)
    cover_percent = Number(min_value=0, max_value=100, **MAY)
    note = Text(max_length=400, **MAY_SAY)
