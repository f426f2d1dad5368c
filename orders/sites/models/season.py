"""A site's year: its own records of the seasons, the days on which it is closed, and its daily weather."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import VersionedModel
from orders.sites.models.places import Site

CLOSURE_KINDS = [
    ("event", "Event"),
    ("hunting", "Hunting"),
    ("nesting", "Nesting or roosts"),
    ("wet_ground", "Wet ground"),
    ("burn", "Prescribed burn"),
    ("other", "Other"),
]
# Air at the ground in degrees Celsius; beyond is a slip or in another unit. The highest and lowest on record are 56.7
# and -89.2 (World Meteorological Organization, from memory).
COLDEST_C, HOTTEST_C = -90.0, 60.0


class CalendarEvent(VersionedModel):
    """One year's own record of the site's seasons: leaf-off, leaf-out, first spring flowers, frost."""

    KINDS = [
        ("leaf_off", "Leaf-off"),
        ("ephemerals", "Spring ephemerals emerge"),
        ("leaf_out", "Leaf-out"),
        ("first_frost", "First fall frost"),
        ("hard_freeze", "First hard freeze"),
        ("ground_freezes", "Ground freezes"),
        ("ground_thaws", "Ground thaws"),
    ]
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="calendar")
    kind = models.CharField(max_length=20, choices=KINDS)
    year = models.PositiveSmallIntegerField()
    on = models.DateField()
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["site_id", "kind", "year"]
        constraints = [models.UniqueConstraint(fields=["site", "kind", "year"], name="calendar_event_once_a_year")]

    def __str__(self) -> str:
        return f"{self.site} {self.get_kind_display()} {self.on}"


class Closure(VersionedModel):
    """Days on which nobody works at the site, or nobody uses some methods there, and why."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="closures")
    kind = models.CharField(max_length=10, choices=CLOSURE_KINDS, default="other")
    first_day = models.DateField()
    last_day = models.DateField()
    repeats_yearly = models.BooleanField(default=False, help_text="On the same days of each year that follows, too.")
    methods = models.JSONField(default=list, blank=True, help_text="Codes of the methods it keeps out; empty: all.")
    why = models.CharField(max_length=200)

    class Meta:
        ordering = ["site_id", "first_day"]
        constraints = [
            models.CheckConstraint(condition=Q(last_day__gte=F("first_day")), name="closure_in_order"),
            models.CheckConstraint(
                condition=Q(kind__in=[code for code, _ in CLOSURE_KINDS]),
                name="closure_kind_is_known_word",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.site} closed {self.first_day} to {self.last_day}"


class DailyWeather(VersionedModel):
    """The coldest and the warmest of a day at a site, and its rain where it was measured."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="weather")
    day = models.DateField()
    low_c = models.FloatField()
    high_c = models.FloatField()
    rain_mm = models.FloatField(null=True, blank=True)
    source = models.CharField(max_length=200)

    class Meta:
        ordering = ["site_id", "day"]
        verbose_name_plural = "daily weather"
        constraints = [
            models.UniqueConstraint(fields=["site", "day"], name="daily_weather_once_a_day"),
            models.CheckConstraint(
                condition=Q(low_c__gte=COLDEST_C, high_c__gte=F("low_c"), high_c__lte=HOTTEST_C),
                name="daily_weather_in_order",
            ),
            models.CheckConstraint(
                condition=Q(rain_mm__isnull=True) | Q(rain_mm__gte=0), name="daily_weather_rain_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.site} {self.day}"
