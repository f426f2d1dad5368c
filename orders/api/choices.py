"""Choosing a method for many patches: a preview that stores nothing, the choice, and putting it back."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders import flow
from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId
from orders.api.operations import shows, takes, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import MethodRef, NamedRef, Out, PatchRef, UserRef, VersionedRow
from orders.bodies.base import Body, many
from orders.bodies.fields import Choice, Flag, Id, Text
from orders.common.errors import FieldError, Invalid
from orders.estimates.models import RateBook
from orders.planning.choosing import choice_batch_undo
from orders.planning.filling import NO_WORK
from orders.planning.models import ChoiceBatch, Season
from orders.planning.overview import PatchQuestion
from orders.planning.preview import MOST_PATCHES, RECOMMENDED, STAND_IN, ChoiceAsk, Preview
from orders.planning.selectors import (
    choice_batch_get,
    choice_batch_whole,
    choice_batches_whole,
    patches_named,
    season_get,
)
from orders.sites.models import CONTROL_STATES, Patch

YES_NO = (("yes", "Yes"), ("no", "No"))
MOST_SIDE_BY_SIDE = 100
METHOD = (
    f"A method's code, {RECOMMENDED}, {STAND_IN} (where what is recommended cannot be done), or {NO_WORK}: what is "
    "chosen there is dropped."
)


BOTH_WAYS = "Say one method for all patches, or one for each."


class Where(Body):
    """Which surveyed patches; what is left out does not narrow."""

    site = Text(max_length=20, required=False, help_text="Code.")
    recommended = Text(max_length=20, required=False, help_text="Code of the method that is recommended there.")
    form = Text(max_length=20, required=False, help_text="Code of a growth form.")
    species = Text(max_length=20, required=False, help_text="Code.")
    control_state = Choice(CONTROL_STATES, required=False)
    chosen = Choice(YES_NO, required=False, help_text="Whether something is chosen there in the season.")
    text = Text(max_length=120, required=False, help_text="In the names of patch or site.")


class PickIn(Body):
    """One patch of a choice that holds several methods."""

    patch = Id()
    method = Text(max_length=20, help_text=METHOD)


class SeasonPatchesIn(Body):
    season = Id()
    patches = serializers.ListField(child=Id(), required=False, min_length=1, max_length=MOST_SIDE_BY_SIDE)
    where = Where(required=False)
    replace = Flag(required=False, help_text="As if what else is chosen there were dropped; true if left out.")
    crew_kind = Choice(RateBook.CREW_KINDS, required=False)


class ChoiceIn(Body):
    season = Id()
    method = Text(max_length=20, required=False, help_text=f"{METHOD} Left out where `picks` name one a patch.")
    picks = many(PickIn, required=False, most=MOST_PATCHES, help_text="A method for each patch, in one choice.")
    patches = serializers.ListField(child=Id(), required=False, min_length=1, max_length=MOST_PATCHES)
    where = Where(required=False)
    why = Text(max_length=1000, required=False, allow_blank=True)
    replace = Flag(required=False, help_text="Drop what else is chosen there and is on no order; true if left out.")
    crew_kind = Choice(RateBook.CREW_KINDS, required=False)


class ChooseIn(ChoiceIn):
    fingerprint = Text(max_length=64, help_text="Of the preview: the choice is made as it was shown, or not at all.")


class FitOut(Out):
    low = serializers.FloatField()
    likely = serializers.FloatField()
    high = serializers.FloatField()
    mean = serializers.FloatField()


class LoadOut(Out):
    count = serializers.IntegerField()
    hours = FitOut(help_text="Field person-hours, with the error that orders of one method share.")
    cents = FitOut()
    likely_cents = serializers.IntegerField(help_text="The sum of the estimates.")
    paid_hours = serializers.FloatField()
    licensed_paid_hours = serializers.FloatField()
    crew_days = serializers.FloatField()


class CapacityOut(Out):
    crews = serializers.IntegerField()
    crew_days = serializers.IntegerField()
    paid_hours = serializers.FloatField()
    licensed_paid_hours = serializers.FloatField()


class ChoiceRowOut(Out):
    patch = PatchRef(source="line.patch")
    survey = serializers.UUIDField(source="line.survey.public_id")
    method = serializers.CharField(source="method.code", allow_null=True)
    fits = serializers.CharField(help_text="yes, no or unknown; empty where nothing is recommended.")
    because = serializers.CharField()
    is_recommended = serializers.BooleanField()
    estimate = serializers.UUIDField(source="estimate.public_id", allow_null=True)
    hours_low = serializers.FloatField(source="estimate.hours_low", allow_null=True)
    hours_likely = serializers.FloatField(source="estimate.hours_likely", allow_null=True)
    hours_high = serializers.FloatField(source="estimate.hours_high", allow_null=True)
    total_cents = serializers.IntegerField(source="estimate.total_cents", allow_null=True)
    first_day = serializers.DateField(source="days.first", allow_null=True)
    last_day = serializers.DateField(source="days.last", allow_null=True)
    replaces = serializers.SerializerMethodField(help_text="Prescriptions that would be dropped.")
    stands = serializers.BooleanField(help_text="It is chosen already.")
    needs_why = serializers.BooleanField(help_text="Another method is recommended: say why.")
    clears = serializers.BooleanField(help_text="What is chosen here would be dropped, with nothing in its place.")
    refused = serializers.CharField(help_text="Why nothing would be done here; empty where it would.")

    def get_replaces(self, row: Any) -> list[str]:
        return [str(old.public_id) for old in row.replaces]


class FundFillingOut(Out):
    code = serializers.CharField(source="fund.code", allow_null=True, help_text="null: work that no fund pays for.")
    name = serializers.CharField(source="fund.name", allow_null=True)
    budget_cents = serializers.IntegerField(source="fund.budget_cents", allow_null=True)
    before = LoadOut()
    after = LoadOut()
    chance_over = serializers.FloatField(allow_null=True, help_text="Of more than the fund's budget.")


class SideBySideOut(Out):
    """A patch with every method, each judged as if it were chosen alone."""

    patch = PatchRef(source="line.patch")
    methods = ChoiceRowOut(many=True)


class SideBySideListOut(Out):
    patches = SideBySideOut(many=True)


class PreviewOut(Out):
    fingerprint = serializers.CharField()
    needs_why = serializers.BooleanField()
    rows = ChoiceRowOut(many=True)
    chosen = LoadOut(help_text="What this choice asks for.")
    before = LoadOut(help_text="The season as it stands.")
    after = LoadOut(help_text="The season with this choice.")
    capacity = CapacityOut(help_text="What the active crews can give in the season.")
    funds = FundFillingOut(many=True, help_text="The season's funds, before and with this choice.")


class ChoicePartOut(Out):
    prescription = serializers.UUIDField(source="prescription.public_id")
    patch = PatchRef(source="prescription.patch")
    method = serializers.CharField(source="prescription.method.code")
    act = serializers.ChoiceField(
        [("made", "Made"), ("dropped", "Dropped")], help_text="What the choice did with the prescription."
    )
    state = serializers.CharField(source="prescription.state", help_text="The prescription's state now.")


class ChoiceBatchOut(VersionedRow):
    season = NamedRef()
    method = MethodRef(allow_null=True, help_text="null: what is recommended on each patch, or several methods.")
    crew_kind = serializers.ChoiceField(RateBook.CREW_KINDS)
    why = serializers.CharField()
    asked = serializers.CharField()
    state = serializers.ChoiceField(ChoiceBatch.STATES)
    made_at = serializers.DateTimeField()
    made_by = UserRef(allow_null=True)
    undone_at = serializers.DateTimeField(allow_null=True)
    undone_by = UserRef(allow_null=True)
    parts = ChoicePartOut(many=True, source="parts.all")


class ChoiceFilter(Filters):
    season = OfId(field_name="season__public_id")
    state = AnyOf(words=ChoiceBatch.STATES)


class _Asking(Endpoint):
    def ask(self) -> ChoiceAsk:
        """One method for many patches, or one for each of those picked."""
        season, picks = season_get(self.body["season"]), self.body.get("picks")
        if picks is not None:
            if {"method", "patches", "where"} & self.body.keys():
                raise Invalid(BOTH_WAYS, [FieldError("picks", "stands alone, without method, patches and where")])
            by_id = {pick["patch"]: pick["method"] for pick in picks}
            named = {patch: by_id[patch.public_id] for patch in patches_named(list(by_id))}
            return ChoiceAsk.of_picks(season, named, asked=f"{len(named)} named", **self.how())
        if "method" not in self.body:
            raise Invalid(BOTH_WAYS, [FieldError("method", "is required, or picks", code="required")])
        patches, asked = self.patches(season)
        return ChoiceAsk(season=season, method=self.body["method"], patches=patches, asked=asked, **self.how())

    def patches(self, season: Season) -> tuple[list[Patch], str]:
        """Those named, or all that answer; and which they are in words."""
        question = PatchQuestion(**dict(self.body.get("where") or {}))
        named = self.body.get("patches")
        if named is None:
            found = flow.patches_asked(question=question, season=season, on=self.today)
            return found.patches(), question.words()
        return patches_named(named), f"{len(named)} named"

    def how(self) -> dict[str, Any]:
        return {
            "why": self.body.get("why", ""),
            "replace": self.body.get("replace", True),
            "crew_kind": self.body.get("crew_kind", "staff"),
        }


class ChoicesMethods(_Asking):
    endpoint = "choices-methods"

    @takes(SideBySideListOut, body=SeasonPatchesIn, status=200, names_others=True)
    def post(self) -> dict[str, Any]:
        """Patches with every method side by side: does it fit, what it takes, when; stores nothing."""
        season = season_get(self.body["season"])
        patches, asked = self.patches(season)
        if len(patches) > MOST_SIDE_BY_SIDE:
            raise Invalid("Too many patches.", [FieldError("where", f"at most {MOST_SIDE_BY_SIDE} at once: narrow it")])
        ask = ChoiceAsk(season=season, method=RECOMMENDED, patches=patches, asked=asked, **self.how())
        found = flow.methods_by_patch(ask=ask, on=self.today)
        return {"patches": [{"line": line, "methods": rows} for line, rows in found]}


class ChoicesPreview(_Asking):
    endpoint = "choices-preview"

    @takes(PreviewOut, body=ChoiceIn, status=200, names_others=True)
    def post(self) -> Preview:
        """What choosing a method on these patches would do, beside what the crews can give; stores nothing."""
        return flow.preview_choices(ask=self.ask(), on=self.today)


class Choices(_Asking):
    endpoint = "choices"

    @writes(ChoiceBatchOut, body=ChooseIn, names_others=True, located_at="choice-batch")
    def post(self) -> ChoiceBatch:
        """Choose as the preview of this fingerprint showed; refused rows are left out."""
        batch = flow.choose_methods(
            ask=self.ask(), on=self.today, fingerprint=self.body["fingerprint"], stamp=self.stamp()
        )
        return choice_batch_whole(batch.public_id)


class ChoiceBatches(ListEndpoint):
    endpoint = "choice-batches"
    row = ChoiceBatchOut
    filters = ChoiceFilter
    sorts = {"id": "id", "made_at": "made_at"}
    usual_sort = "-id"

    def rows(self) -> QuerySet[ChoiceBatch]:
        """Bulk choices, the newest first, with what each made and dropped."""
        return choice_batches_whole()


class ChoiceBatchOne(Endpoint):
    endpoint = "choice-batch"

    @shows(ChoiceBatchOut)
    def get(self, batch_id: Any) -> ChoiceBatch:
        """One bulk choice."""
        return choice_batch_whole(batch_id)


class ChoiceBatchUndo(Endpoint):
    endpoint = "choice-batch-undo"

    @writes(ChoiceBatchOut, status=200)
    def post(self, batch_id: Any) -> ChoiceBatch:
        """Put everything back as it was, unless something of it was ordered since."""
        choice_batch_undo(batch=choice_batch_get(batch_id), stamp=self.stamp())
        return choice_batch_whole(batch_id)
