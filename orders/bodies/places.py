"""What a request says of sites, jurisdictions, the checklist, species and methods."""

from typing import Any

from orders.bodies.base import Body
from orders.bodies.documents import Shape
from orders.bodies.fields import Choice, Exact, Flag, Number, Text, Whole
from orders.sites.models import YES_NO_UNKNOWN

MOST_MINUTES = 32_767
MAY: dict[str, Any] = {"required": False}


class JurisdictionEdit(Body):
    name = Text(max_length=80)
    is_active = Flag(required=False, help_text="Whether it is offered; it stays as it is where this is left out.")


class JurisdictionIn(Body):
    name = Text(max_length=80)
    code = Text(max_length=10)


class GrowthFormEdit(Body):
    name = Text(max_length=40)


class QuestionEdit(Body):
    text = Text(max_length=200)
    sort = Whole(max_value=MOST_MINUTES, help_text="Smaller is asked earlier.")
    is_active = Flag(required=False, help_text="Whether it is asked; it stays as it is where this is left out.")


class QuestionIn(Body):
    text = Text(max_length=200)
    sort = Whole(max_value=MOST_MINUTES, help_text="Smaller is asked earlier.")
    code = Text(max_length=50)


class SiteRest(Body):
    """The way in, the emergency plan, and which entry rule holds; what is left out stays."""

    access_notes = Text(max_length=4000, allow_blank=True, **MAY)
    worker_protection_rules = Flag(**MAY)
    nearest_medical_help = Text(max_length=200, allow_blank=True, **MAY)
    medical_phone = Text(max_length=40, allow_blank=True, **MAY)
    medical_address = Text(max_length=200, allow_blank=True, **MAY)
    meeting_lon = Number(min_value=-180, max_value=180, allow_null=True, **MAY)
    meeting_lat = Number(min_value=-90, max_value=90, allow_null=True, **MAY)
    emergency_access = Text(max_length=4000, allow_blank=True, **MAY)
    radio_or_phone = Text(max_length=120, allow_blank=True, **MAY)


ZONE = "An IANA name, such as America/New_York."


class SiteEdit(SiteRest):
    name = Text(max_length=120, **MAY)
    jurisdiction = Text(max_length=10, help_text="Its code.", **MAY)
    time_zone = Text(max_length=60, help_text=ZONE, **MAY)
    boundary = Shape("Polygon", "MultiPolygon", **MAY)
    drive_minutes = Whole(max_value=MOST_MINUTES, help_text="One way, from the shop.", **MAY)
    drive_miles = Exact(max_digits=6, decimal_places=1, min_value=0, **MAY)


class SiteIn(SiteRest):
    code = Text(max_length=20)
    name = Text(max_length=120)
    jurisdiction = Text(max_length=10, help_text="Its code.")
    time_zone = Text(max_length=60, help_text=ZONE)
    boundary = Shape("Polygon", "MultiPolygon")
    drive_minutes = Whole(max_value=MOST_MINUTES, help_text="One way, from the shop.")
    drive_miles = Exact(max_digits=6, decimal_places=1, min_value=0)


class SpeciesIn(Body):
    code = Text(max_length=20)
    scientific_name = Text(max_length=120)
    common_name = Text(max_length=120)
    evergreen = Flag(help_text="In leaf when natives are bare.")
    resprouts = Flag(help_text="Cut stems come back unless treated.")
    pulled_stems_reroot = Choice(YES_NO_UNKNOWN, default="unknown")
    reroot_source = Text(max_length=300, allow_blank=True, default="")


class MethodRowIn(Body):
    """A method as a row of the methods file has it: text as it stands there."""

    name = Text(max_length=60)
    growth_forms = Text(max_length=200, help_text="Codes with | between.")
    uses_herbicide = Choice(["yes", "no"])
    needs_license = Choice(["yes", "no"])
    treats_stems = Choice(["yes", "no"])
    removes_fruit = Choice(["yes", "no"])
    kills_roots = Choice(["yes", "no"])
    season_rule = Text(max_length=40)
    lowest_temp_c = Text(max_length=10)
    highest_slope_deg = Text(max_length=10)
    wet_ground_allowed = Choice(["yes", "no"])
    smallest_use = Choice(["any", "small", "large"])
    needs_follow_up_days = Text(max_length=10)
    summary = Text(max_length=300)
    source = Text(max_length=300)  # type: ignore[assignment]  # the metaclass takes it off again


class MethodEdit(Body):
    """All of a method but its code."""

    facts = MethodRowIn()
    qualification = Text(max_length=50, allow_null=True, default=None, help_text="Code of the license or training.")
    mix = Text(max_length=30, allow_null=True, default=None, help_text="Code of the mix that it is done with.")


class MethodReplace(MethodEdit):
    is_active = Flag(required=False, help_text="Whether it is offered; it stays as it is where this is left out.")


class MethodIn(MethodEdit):
    code = Text(max_length=20)
