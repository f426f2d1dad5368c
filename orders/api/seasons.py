"""Seasons, and what is asked for in them: prescriptions."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.fields import Cents, Day, Id, Text
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Because, Body, MethodRef, NamedRef, Out, PatchRef, VersionedRow
from orders.estimates.selectors import estimate_get
from orders.planning.models import Prescription, Season
from orders.planning.selectors import prescription_get, prescriptions, season_get, seasons
from orders.planning.services import prescription_drop, season_add


class SeasonOut(VersionedRow):
    name = serializers.CharField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    budget_cents = serializers.IntegerField(allow_null=True)


class SeasonIn(Body):
    name = Text(max_length=80)
    first_day = Day()
    last_day = Day()
    budget_cents = Cents(required=False, allow_null=True)


class Seasons(ListEndpoint):
    endpoint = "seasons"
    row = SeasonOut
    sorts = {"first_day": "first_day", "name": "name"}
    usual_sort = "-first_day"

    def rows(self) -> QuerySet[Season]:
        """Seasons, the newest first."""
        return seasons()

    @writes(SeasonOut, body=SeasonIn, located_at="season")
    def post(self) -> Season:
        """Add a season."""
        return season_add(stamp=self.stamp(), **self.body)


class SeasonOne(Endpoint):
    endpoint = "season"

    @shows(SeasonOut)
    def get(self, season_id: Any) -> Season:
        """One season."""
        return season_get(season_id)


class PrescribedOut(Out):
    count = serializers.IntegerField()
    prescriptions = serializers.ListField(child=serializers.UUIDField())


class SeasonPrescribe(Endpoint):
    endpoint = "season-prescribe"

    @writes(PrescribedOut)
    def post(self, season_id: Any) -> dict[str, Any]:
        """Prescribe the recommended methods wherever a patch has none yet in this season."""
        made = flow.prescribe_season(season=season_get(season_id), stamp=self.stamp())
        return {"count": len(made), "prescriptions": [prescription.public_id for prescription in made]}


class PrescriptionOut(VersionedRow):
    season = NamedRef()
    patch = PatchRef()
    method = MethodRef()
    estimate = serializers.UUIDField(source="estimate.public_id")
    state = serializers.ChoiceField(Prescription.STATES)
    origin = serializers.ChoiceField(Prescription.ORIGINS)
    follows = serializers.UUIDField(source="follows.public_id", allow_null=True)
    share_left = serializers.FloatField()
    why = serializers.CharField()
    is_own_choice = serializers.BooleanField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    window_because = serializers.CharField()


class PrescriptionIn(Body):
    season = Id()
    estimate = Id()
    first_day = Day()
    last_day = Day()
    window_because = Text(max_length=1000)
    why = Text(max_length=1000)


class PrescriptionFilter(Filters):
    season = OfId(field_name="season__public_id")
    site = OfId(field_name="patch__site__public_id")
    patch = OfId(field_name="patch__public_id")
    method = OfWord(field_name="method__code")
    state = AnyOf(words=Prescription.STATES)
    origin = AnyOf(words=Prescription.ORIGINS)


class Prescriptions(ListEndpoint):
    endpoint = "prescriptions"
    row = PrescriptionOut
    from_columns = True
    filters = PrescriptionFilter
    sorts = {"id": "id", "first_day": "first_day", "last_day": "last_day", "patch": "patch__code"}

    def rows(self) -> QuerySet[Prescription]:
        """What is asked for: a method on a patch within a window of days, with the reason."""
        heavy = ("estimate__inputs", "estimate__result", "estimate__survey__geometry", "patch__site__boundary")
        return prescriptions().select_related("follows").defer(*heavy)

    @writes(PrescriptionOut, body=PrescriptionIn, names_others=True, located_at="prescription")
    def post(self) -> Prescription:
        """Ask for a method of your own choice, within a window and with your reason.

        Refused where the method does not fit the patch, and where a label forbids its mix there."""
        season, estimate = season_get(self.body.pop("season")), estimate_get(self.body.pop("estimate"))
        more = {**self.body, "on": self.today, "stamp": self.stamp()}
        return flow.prescribe_own_choice(season=season, estimate=estimate, **more)


class PrescriptionOne(Endpoint):
    endpoint = "prescription"

    @shows(PrescriptionOut)
    def get(self, prescription_id: Any) -> Prescription:
        """One prescription."""
        return prescription_get(prescription_id)


class PrescriptionDrop(Endpoint):
    endpoint = "prescription-drop"

    @writes(PrescriptionOut, body=Because, status=200)
    def post(self, prescription_id: Any) -> Prescription:
        """Drop a prescription that is on no order, with the reason."""
        prescription = prescription_get(prescription_id)
        return prescription_drop(prescription=prescription, stamp=self.stamp(self.body["reason"]))
