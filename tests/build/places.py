"""Sites, patches and surveys."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import factory

from orders.sites import models as sites
from tests.build.base import NOW, Build, UserFactory, square


class GrowthFormFactory(Build):
    class Meta:
        model = sites.GrowthForm
        django_get_or_create = ["code"]

    code = "ground cover"
    name = factory.LazyAttribute(lambda form: form.code.capitalize())
    fruits = factory.LazyAttribute(lambda form: form.code != "ground cover")


class JurisdictionFactory(Build):
    class Meta:
        model = sites.Jurisdiction
        django_get_or_create = ["code"]

    code = "KY"
    name = factory.LazyAttribute(lambda place: f"State of {place.code}")


class SpeciesFactory(Build):
    class Meta:
        model = sites.Species
        django_get_or_create = ["code"]

    code = "EUFO"
    scientific_name = factory.LazyAttribute(lambda kind: f"Euonymus fortunei {kind.code}")
    common_name = "wintercreeper"
    evergreen = True
    resprouts = True
    fruit_first_month = 9
    fruit_first_day = 1
    fruit_last_month = 11
    fruit_last_day = 30
    phenology_source = "invented"


class SiteFactory(Build):
    class Meta:
        model = sites.Site

    code = factory.Sequence(lambda n: f"S{n}")
    name = factory.LazyAttribute(lambda site: f"Preserve {site.code}")
    jurisdiction = factory.SubFactory(JurisdictionFactory)
    time_zone = "America/Kentucky/Louisville"
    boundary = factory.LazyFunction(square)
    min_lon, min_lat, max_lon, max_lat = -85.7, 38.2, -85.699, 38.201
    drive_minutes = 30
    drive_miles = Decimal("18.5")


class ChecklistQuestionFactory(Build):
    class Meta:
        model = sites.ChecklistQuestion

    code = factory.Sequence(lambda n: f"question-{n}")
    question = factory.LazyAttribute(lambda row: f"What of {row.code}?")
    sort = factory.Sequence(lambda n: n)


class ChecklistAnswerFactory(Build):
    class Meta:
        model = sites.ChecklistAnswer

    site = factory.SubFactory(SiteFactory)
    question = factory.SubFactory(ChecklistQuestionFactory)
    answer = "Settled with the owner."
    answered_at = NOW


class CalendarEventFactory(Build):
    class Meta:
        model = sites.CalendarEvent

    site = factory.SubFactory(SiteFactory)
    kind = "leaf_off"
    year = 2025
    on = factory.LazyAttribute(lambda event: date(event.year, 11, 20))
    source = "invented"


def calendar_records(site, *, years=(2023, 2024, 2025), **days):
    """The same day in each of the years, by kind: (month, day). Enough years for windows to rest on."""
    for kind, (month, day) in days.items():
        for year in years:
            CalendarEventFactory(site=site, kind=kind, year=year, on=date(year, month, day))


class ClosureFactory(Build):
    class Meta:
        model = sites.Closure

    site = factory.SubFactory(SiteFactory)
    first_day = date(2027, 4, 1)
    last_day = date(2027, 4, 15)
    why = "Nesting"


class DailyWeatherFactory(Build):
    class Meta:
        model = sites.DailyWeather

    site = factory.SubFactory(SiteFactory)
    day = date(2026, 4, 1)
    low_c, high_c = 4.0, 18.0
    source = "invented"


class PatchFactory(Build):
    class Meta:
        model = sites.Patch

    site = factory.SubFactory(SiteFactory)
    code = factory.Sequence(lambda n: f"P{n}")


class SurveyImportFactory(Build):
    class Meta:
        model = sites.SurveyImport

    file_name = "survey.geojson"
    file_sha256 = "0" * 64
    file_bytes = b"{}"
    asked_at = NOW


class SurveyFileFactory(Build):
    class Meta:
        model = sites.SurveyFile

    file_name = "survey.geojson"
    file_sha256 = "0" * 64
    file_bytes = b"{}"
    added_by = factory.SubFactory(UserFactory)
    added_at = NOW


class SurveyMappingFactory(Build):
    class Meta:
        model = sites.SurveyMapping

    name = factory.Sequence(lambda n: f"Office {n}")
    columns = ["POLY_ID"]
    mapping = factory.LazyFunction(lambda: {"columns": {"patch_code": "POLY_ID"}})


class SurveyFactory(Build):
    """With one component, wintercreeper on the ground; `components=[{...}, ...]` gives others, [] none."""

    class Meta:
        model = sites.Survey

    patch = factory.SubFactory(PatchFactory)
    observed_on = date(2026, 10, 12)
    observer = "A. Surveyor"
    geometry = factory.LazyFunction(square)
    min_lon, min_lat, max_lon, max_lat = -85.7, 38.2, -85.699, 38.201
    gross_area_m2 = 2000.0
    slope_deg = 5.0
    wet_ground = "no"
    desirable_tree_roots = "no"
    evergreen_natives = "no"
    spring_ephemerals = "no"
    minutes_from_gate = 6.0
    fingerprint = factory.Sequence(lambda n: f"{n:064x}")
    recorded_at = NOW

    @factory.post_generation
    def components(self, create, extracted, **kwargs):
        for facts in [{}] if extracted is None else extracted:
            SurveyComponentFactory(survey=self, **facts)


class SurveyComponentFactory(Build):
    class Meta:
        model = sites.SurveyComponent

    survey = factory.SubFactory(SurveyFactory, components=[])
    species = factory.SubFactory(SpeciesFactory)
    growth_form = factory.SubFactory(GrowthFormFactory)
    infested_area_m2 = 1000.0
    cover_low, cover_likely, cover_high = 0.36, 0.4, 0.44
    cover_as_entered = "40%"
    cover_is_class = False
    fertile = "no"


class PatchPhotoFactory(Build):
    """The row alone: no file lies beside it."""

    class Meta:
        model = sites.PatchPhoto

    patch = factory.SubFactory(PatchFactory)
    taken_on = date(2026, 10, 12)
    content_type = "image/jpeg"
    size_bytes = 1000
    sha256 = factory.Sequence(lambda n: f"{n:064x}")
    width_px = 64
    height_px = 40
    at = NOW


class PatchSuccessionFactory(Build):
    class Meta:
        model = sites.PatchSuccession

    event = factory.LazyFunction(uuid4)
    kind = "split"
    before = factory.SubFactory(PatchFactory)
    after = factory.SubFactory(PatchFactory)
    on = date(2026, 11, 1)
    at = NOW
