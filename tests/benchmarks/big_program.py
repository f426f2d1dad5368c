"""python -m tests.benchmarks.big_program: the demo many times over, in the database of DATA_DIR or DATABASE_URL.

Start from a copy of the demo (`bash deploy/demo --once`). Its rows are copied inside the database, so that they stay as
consistent as the demo is: 10,000 patches with older surveys and estimates for every method that fits, 5,000 orders in
all states with what belongs to them. Sites and crews are copied less often, so each has more to do. Change records and
stock are not copied; the ledger's proof says so and is not needed here.
"""

import sys
import time

STRIDE = 1_000_000  # the ids of one copy; the demo's own are smaller
GROUND, SEASON, CREWS, SITES, CHEMICAL = 82, 22, 6, 10, 440
SURVEYS = 2 * GROUND  # the second half are older visits to the same patches
YEARS_BACK = 2

# How many times each table's rows stand there afterward; a reference to a copied row goes to the copy of its number.
COPIES = {
    SITES: ("sites.Site", "sites.ChecklistAnswer", "sites.CalendarEvent", "sites.Closure", "sites.DailyWeather"),
    GROUND: ("sites.Patch", "estimates.Estimate"),
    SURVEYS: ("sites.Survey", "sites.SurveyComponent"),
    CREWS: (
        *("crews.Crew", "crews.Person", "crews.Qualification", "crews.CrewMembership", "crews.Absence"),
        *("costs.PayRate", "costs.WorkweekPremium", "field.CheckIn", "field.CheckInPerson", "field.CheckInStep"),
        *("field.Briefing", "field.DaySheet", "field.DayLine", "field.DayShare"),
    ),
    SEASON: (
        *("planning.Prescription", "planning.Visit", "planning.VisitShare", "planning.ChoiceBatch"),
        *("planning.ChoicePart", "workorders.WorkOrder", "workorders.OrderVisit", "workorders.CloseOut"),
        *("workorders.PatchOutcome", "workorders.TimeEntry", "workorders.MaterialUse", "costs.OrderFunding"),
        *("costs.Commitment", "costs.LedgerEntry", "reminders.Deadline", "reminders.Notice"),
        *("field.Device", "field.DeviceUser", "field.EnrollmentCode", "field.Command"),
        *("costs.Vendor", "costs.PurchaseOrder", "costs.PurchaseLine", "costs.Bill", "costs.BillLine"),
    ),
    CHEMICAL: (
        *("workorders.MixBatch", "workorders.BatchPart", "workorders.Application", "workorders.ApplicationPerson"),
        *("workorders.WeatherCheck", "workorders.MixDayEnd", "workorders.ApplicationRecord", "field.Flag"),
    ),
}
# Beside fields that are unique by themselves, these must differ too.
TOLD_APART = {"Patch.code", "Survey.fingerprint", "Estimate.fingerprint", "Deadline.subject_key", "Bill.number"}
LEFT_EMPTY = {"Person.user"}
EAST = ("min_lon", "max_lon", "meeting_lon")
NORTH = ("min_lat", "max_lat", "meeting_lat")
PATCH_DEGREES, SITE_DEGREES = 0.02, 0.15  # so that copies lie beside each other and share no ground
# Rows of stock and payroll belong to no order and are not copied.
ONLY = {"Commitment": "order_id IS NOT NULL", "LedgerEntry": "order_id IS NOT NULL"}


def main() -> int:
    """Copy, then say what stands there."""
    from django.db import connection

    begun = time.monotonic()
    models = _models()
    if any(model.objects.filter(pk__gt=STRIDE).exists() for model in models):
        print("This database holds the big program already.")
        return 1
    _copy(models)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    counted = ", ".join(f"{model.objects.count():,} {model._meta.verbose_name_plural}" for model in models)
    print(f"{counted}; in {time.monotonic() - begun:.0f} s")
    return 0


def _models():
    """Each copied table with how many times it stands there."""
    from django.apps import apps

    return {apps.get_model(name): copies for copies, names in COPIES.items() for name in names}


def _copy(models):
    from django.apps import apps
    from django.core.management.color import no_style
    from django.db import connection, transaction

    with transaction.atomic(), connection.cursor() as cursor:
        for model, copies in models.items():
            for number in range(1, copies):
                cursor.execute(_statement(connection, model, number, models))
        for name, shape in (("sites.Site", "boundary"), ("sites.Survey", "geometry")):
            _shapes_shift(apps.get_model(name), shape)
        for statement in connection.ops.sequence_reset_sql(no_style(), list(models)):
            cursor.execute(statement)


def _statement(connection, model, number, models):
    """INSERT … SELECT of one copy from the rows of the demo."""
    quote = connection.ops.quote_name
    fields = model._meta.concrete_fields
    names = ", ".join(quote(field.column) for field in fields)
    values = ", ".join(_value(connection, model, field, number, models) for field in fields)
    where = f"id < {STRIDE} AND {ONLY.get(model.__name__, '1 = 1')}"
    table = quote(model._meta.db_table)
    return f"INSERT INTO {table} ({names}) SELECT {values} FROM {table} WHERE {where} ORDER BY id"


def _value(connection, model, field, number, models):
    column, name = connection.ops.quote_name(field.column), f"{model.__name__}.{field.name}"
    if name in LEFT_EMPTY:
        return "NULL"
    if name == "Survey.observed_on" and number >= GROUND:
        return _years_before(connection, column)
    if field.name in EAST + NORTH:
        return f"{column} + {_shift(model, number)[field.name in NORTH]}"
    if field.primary_key:
        return f"{column} + {number * STRIDE}"
    if field.is_relation:
        times = models.get(field.related_model, 1)
        return f"{column} + {number % times * STRIDE}"
    return _own_value(connection, field, column, number, name)


def _own_value(connection, field, column, number, name):
    """A unique value is told apart by the number of its copy; all else is the demo's own."""
    kind = field.get_internal_type()
    if field.unique and kind == "UUIDField":
        return "lower(hex(randomblob(16)))" if connection.vendor == "sqlite" else "gen_random_uuid()"
    if kind.endswith("IntegerField") and field.unique:
        return f"{column} + {number * 10_000}"
    if field.unique or name in TOLD_APART:
        suffix = f"~{number}"
        return f"substr({column}, 1, {(field.max_length or 200) - len(suffix)}) || '{suffix}'"
    return column


def _shift(model, number):
    """Degrees east and north of the demo's own place: sites lie in a row, a site's patches beside it."""
    if model.__name__ == "Site":
        return 0.0, number * SITE_DEGREES
    patch = number % GROUND
    return patch // SITES * PATCH_DEGREES, patch % SITES * SITE_DEGREES


def _shapes_shift(model, name):
    """The same for the shapes themselves, which are JSON."""
    rows = model.objects.filter(pk__gt=STRIDE).only("pk", name)
    for row in rows.iterator(chunk_size=2000):
        shape = getattr(row, name)
        if shape:
            moved = {**shape, "coordinates": _moved(shape["coordinates"], *_shift(model, row.pk // STRIDE))}
            model.objects.filter(pk=row.pk).update(**{name: moved})


def _moved(part, east, north):
    if isinstance(part[0], list):
        return [_moved(one, east, north) for one in part]
    return [round(part[0] + east, 7), round(part[1] + north, 7)]


def _years_before(connection, column):
    if connection.vendor == "sqlite":
        return f"date({column}, '-{YEARS_BACK} years')"
    return f"({column} - interval '{YEARS_BACK} years')::date"


if __name__ == "__main__":
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()
    sys.exit(main())
