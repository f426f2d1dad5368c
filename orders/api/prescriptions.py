"""What is asked for in a season: a method on a patch, and what follows it."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import MethodRef, NamedRef, PatchRef, VersionedRow
from orders.bodies.base import Because, Body
from orders.bodies.fields import Day, Id, Text
from orders.estimates.selectors import estimate_get
from orders.planning.funds import prescription_fund_set
from orders.planning.models import ChainRule, Prescription
from orders.planning.selectors import prescription_get, prescriptions, season_fund_get, season_get
from orders.planning.services import prescription_drop


class SeasonFundRef(NamedRef):
    code = serializers.CharField()


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
    seed_due_on = serializers.DateField(allow_null=True, help_text="The seed deadline that this work meets.")
    purpose = serializers.ChoiceField(ChainRule.PURPOSES, allow_blank=True, help_text="Of a follow-up.")
    chain_rule = serializers.CharField(source="chain_rule.code", allow_null=True)
    least_lag_days = serializers.IntegerField(allow_null=True, help_text="After the work it follows.")
    most_lag_days = serializers.IntegerField(allow_null=True, help_text="After the work it follows.")
    season_fund = SeasonFundRef(source="fund", allow_null=True, help_text="Who pays; null: only the season's budget.")


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
    purpose = AnyOf(words=ChainRule.PURPOSES)
    season_fund = OfId(field_name="fund__public_id")


class Prescriptions(ListEndpoint):
    endpoint = "prescriptions"
    row = PrescriptionOut
    from_columns = True
    filters = PrescriptionFilter
    sorts = {"id": "id", "first_day": "first_day", "last_day": "last_day", "patch": "patch__code"}

    def rows(self) -> QuerySet[Prescription]:
        """What is asked for: a method on a patch within a window of days, with the reason."""
        heavy = ("estimate__inputs", "estimate__result", "estimate__survey__geometry", "patch__site__boundary")
        return prescriptions().select_related("follows", "chain_rule", "fund").defer(*heavy)

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


class PaidByIn(Body):
    season_fund = Id(allow_null=True, help_text="null: only the season's budget.")


class PrescriptionFund(Endpoint):
    endpoint = "prescription-fund"

    @edits(PrescriptionOut, body=PaidByIn, names_others=True, conflicts=True)
    def put(self, prescription_id: Any) -> Prescription:
        """Say by hand which fund of the season pays; the window is cut to its days."""
        prescription, named = prescription_get(prescription_id), self.body["season_fund"]
        expected = self.version_named(prescription)
        fund = None if named is None else season_fund_get(named)
        return prescription_fund_set(
            prescription=prescription, fund=fund, expected_version=expected, stamp=self.stamp()
        )
