"""A site's year: its own records of the seasons with their means, and the days on which it is closed."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OnDay
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, SiteRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Choice, Day, Flag, Id, Text, Whole
from orders.planning.windows import method_codes_check
from orders.sites.models import CLOSURE_KINDS, CalendarEvent, Closure
from orders.sites.selectors import (
    calendar_event_get,
    calendar_events,
    closure_get,
    closures,
    site_calendar,
    site_get,
)
from orders.sites.services import (
    calendar_event_add,
    calendar_event_edit,
    calendar_event_remove,
    closure_add,
    closure_edit,
    closure_remove,
)

MOST_METHODS = 100
FIRST_YEAR, LAST_YEAR = 1990, 2200


class EventOut(VersionedRow):
    kind = serializers.ChoiceField(CalendarEvent.KINDS)
    year = serializers.IntegerField(help_text="Of the season: a leaf-off in January belongs to the year before.")
    on = serializers.DateField()
    source = serializers.CharField()  # type: ignore[assignment]  # the metaclass takes it off again


class MeanOut(Out):
    kind = serializers.CharField()
    month = serializers.IntegerField()
    day = serializers.IntegerField()
    spread_days = serializers.FloatField(allow_null=True, help_text="Standard deviation; null from one year alone.")
    years = serializers.IntegerField()


class CalendarOut(Out):
    means = MeanOut(many=True)
    records = EventOut(many=True)


class EventEdit(Body):
    year = Whole(min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False)
    on = Day(required=False)
    source = Text(max_length=200, required=False)  # type: ignore[assignment]  # the metaclass takes it off again


class EventIn(EventEdit):
    kind = Choice(CalendarEvent.KINDS)
    year = Whole(min_value=FIRST_YEAR, max_value=LAST_YEAR)
    on = Day()
    source = Text(max_length=200)


class Calendar(Endpoint):
    endpoint = "site-calendar"

    @shows(CalendarOut)
    def get(self, site_id: Any) -> dict[str, Any]:
        """The site's own records of its seasons, and their means."""
        site = site_get(site_id)
        return {"means": list(site_calendar(site).values()), "records": calendar_events(site)}

    @writes(EventOut, body=EventIn, located_at="calendar-record")
    def post(self, site_id: Any) -> CalendarEvent:
        """Record one year's day; each kind is recorded once a year."""
        return calendar_event_add(site=site_get(site_id), stamp=self.stamp(), **self.body)


class CalendarRecord(Endpoint):
    endpoint = "calendar-record"

    @shows(EventOut)
    def get(self, event_id: Any) -> CalendarEvent:
        """One year's record of a site."""
        return calendar_event_get(event_id)

    @edits(EventOut, body=EventEdit)
    def patch(self, event_id: Any) -> CalendarEvent:
        """Correct a record; what is left out stays."""
        event = calendar_event_get(event_id)
        return calendar_event_edit(event=event, expected=self.version_named(event), stamp=self.stamp(), **self.body)


class CalendarRecordRemove(Endpoint):
    endpoint = "calendar-record-remove"

    @writes(EventOut, body=Because, status=200)
    def post(self, event_id: Any) -> CalendarEvent:
        """Take a record out, with the reason; the reply shows what it was."""
        event = calendar_event_get(event_id)
        calendar_event_remove(event=event, expected=event.version, stamp=self.stamp(self.body["reason"]))
        return event


class ClosureOut(VersionedRow):
    site = SiteRef()
    kind = serializers.ChoiceField(CLOSURE_KINDS)
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    repeats_yearly = serializers.BooleanField()
    methods = serializers.ListField(child=serializers.CharField(), help_text="Codes; none: every method.")
    why = serializers.CharField()


class ClosureEdit(Body):
    kind = Choice(CLOSURE_KINDS, required=False)
    first_day = Day(required=False)
    last_day = Day(required=False)
    repeats_yearly = Flag(required=False)
    methods = serializers.ListField(child=Text(max_length=20), max_length=MOST_METHODS, required=False)
    why = Text(max_length=200, required=False)


class ClosureIn(ClosureEdit):
    site = Id()
    first_day = Day()
    last_day = Day()
    why = Text(max_length=200)


class ClosureFilter(Filters):
    site = OfId(field_name="site__public_id")
    kind = AnyOf(words=CLOSURE_KINDS)
    day_from = OnDay(field_name="last_day", lookup_expr="gte", help_text="Closures that end on this day or later.")
    day_to = OnDay(field_name="first_day", lookup_expr="lte", help_text="Closures that begin on this day or earlier.")


class Closures(ListEndpoint):
    endpoint = "closures"
    row = ClosureOut
    from_columns = True
    filters = ClosureFilter
    sorts = {"first_day": "first_day", "site": "site__code"}
    usual_sort = "first_day"

    def rows(self) -> QuerySet[Closure]:
        """Days on which nobody works at a site, or some methods may not be used there, and why."""
        return closures()

    @writes(ClosureOut, body=ClosureIn, names_others=True, located_at="closure")
    def post(self) -> Closure:
        """Close a site from a first to a last day, to all methods or to some."""
        method_codes_check(self.body.get("methods", ()))
        site = site_get(self.body.pop("site"))
        return closure_add(site=site, stamp=self.stamp(), **self.body)


class ClosureOne(Endpoint):
    endpoint = "closure"

    @shows(ClosureOut)
    def get(self, closure_id: Any) -> Closure:
        """One closure."""
        return closure_get(closure_id)

    @edits(ClosureOut, body=ClosureEdit)
    def patch(self, closure_id: Any) -> Closure:
        """Correct a closure; what is left out stays."""
        method_codes_check(self.body.get("methods", ()))
        closure = closure_get(closure_id)
        return closure_edit(closure=closure, expected=self.version_named(closure), stamp=self.stamp(), **self.body)


class ClosureRemove(Endpoint):
    endpoint = "closure-remove"

    @writes(ClosureOut, body=Because, status=200)
    def post(self, closure_id: Any) -> Closure:
        """Open the site again, with the reason; the reply shows what the closure was."""
        closure = closure_get(closure_id)
        closure_remove(closure=closure, expected=closure.version, stamp=self.stamp(self.body["reason"]))
        return closure
