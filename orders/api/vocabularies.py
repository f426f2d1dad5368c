"""Species, growth forms and methods: the words that the rest is told in."""

from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfWord, YesNo
from orders.api.operations import edits, shows, writes
from orders.api.paging import ListEndpoint
from orders.api.shapes import Out, Row, VersionedRow
from orders.bodies.base import Body, many
from orders.bodies.fields import Choice, Flag, Text, Whole
from orders.bodies.places import MethodIn, MethodReplace, SpeciesIn
from orders.common.errors import FieldError, Invalid
from orders.crews.selectors import qualification_kind_by_code
from orders.estimates.models import Method
from orders.estimates.selectors import method_of, methods
from orders.estimates.services import method_add, method_edit, method_equipment_set
from orders.sites.models import YES_NO_UNKNOWN, GrowthForm, Species
from orders.sites.selectors import growth_forms, species_all, species_get
from orders.sites.services import species_add, species_edit
from orders.supplies.models import Equipment
from orders.supplies.selectors import equipment_by_code, mix_by_code

MOST_UNITS = 1_000


class SpeciesOut(VersionedRow):
    code = serializers.CharField()
    scientific_name = serializers.CharField()
    common_name = serializers.CharField()
    evergreen = serializers.BooleanField()
    resprouts = serializers.BooleanField()
    pulled_stems_reroot = serializers.CharField(help_text="Do stems that are left on the ground root again?")
    reroot_source = serializers.CharField()
    fruit_first_month = serializers.IntegerField(allow_null=True)
    fruit_first_day = serializers.IntegerField(allow_null=True)
    fruit_last_month = serializers.IntegerField(allow_null=True)
    fruit_last_day = serializers.IntegerField(allow_null=True)
    phenology_source = serializers.CharField()
    flower_first_month = serializers.IntegerField(allow_null=True)
    flower_first_day = serializers.IntegerField(allow_null=True)
    flower_last_month = serializers.IntegerField(allow_null=True)
    flower_last_day = serializers.IntegerField(allow_null=True)
    flower_to_fruit_days = serializers.IntegerField(allow_null=True, help_text="From open flowers to fruit.")
    flower_source = serializers.CharField()
    leaf_drop_month = serializers.IntegerField(allow_null=True, help_text="Where it holds its leaves after natives.")
    leaf_drop_day = serializers.IntegerField(allow_null=True)
    leaf_drop_source = serializers.CharField()
    is_active = serializers.BooleanField(help_text="Whether it is offered for anything new.")


def _month() -> Whole:
    return Whole(min_value=1, max_value=12, required=False, allow_null=True)


def _day() -> Whole:
    return Whole(min_value=1, max_value=31, required=False, allow_null=True)


def _where_from() -> Text:
    return Text(max_length=300, required=False, allow_blank=True)


class SpeciesEdit(Body):
    """What is known of a species. A range of days is given at both ends or at none; each says where it comes from."""

    scientific_name = Text(max_length=120, required=False)
    common_name = Text(max_length=120, required=False)
    evergreen = Flag(required=False)
    resprouts = Flag(required=False)
    pulled_stems_reroot = Choice(YES_NO_UNKNOWN, required=False)
    reroot_source = _where_from()
    fruit_first_month = _month()
    fruit_first_day = _day()
    fruit_last_month = _month()
    fruit_last_day = _day()
    phenology_source = _where_from()
    flower_first_month = _month()
    flower_first_day = _day()
    flower_last_month = _month()
    flower_last_day = _day()
    flower_to_fruit_days = Whole(min_value=1, max_value=365, required=False, allow_null=True)
    flower_source = _where_from()
    leaf_drop_month = _month()
    leaf_drop_day = _day()
    leaf_drop_source = _where_from()
    is_active = Flag(required=False)


class SpeciesFilter(Filters):
    code = OfWord()
    is_active = YesNo()
    evergreen = YesNo()


class SpeciesAll(ListEndpoint):
    endpoint = "species"
    row = SpeciesOut
    filters = SpeciesFilter
    sorts = {"code": "code", "scientific_name": "scientific_name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Species]:
        """Invasive species, with when they flower and fruit, and where that is from."""
        return species_all()

    @writes(SpeciesOut, body=SpeciesIn, located_at="species-one")
    def post(self) -> Species:
        """Add a species; the days of its year are then told by an edit, each with its source."""
        return species_add(stamp=self.stamp(), **self.body)


class SpeciesOne(Endpoint):
    endpoint = "species-one"

    @shows(SpeciesOut)
    def get(self, species_id: Any) -> Species:
        """One species."""
        return species_get(species_id)

    @edits(SpeciesOut, body=SpeciesEdit)
    def patch(self, species_id: Any) -> Species:
        """Change what is known of it; what is left out stays."""
        species = species_get(species_id)
        expected = self.version_named(species)
        return species_edit(species=species, values=self.body, expected=expected, stamp=self.stamp())


class GrowthFormOut(Row):
    code = serializers.CharField()
    name = serializers.CharField()
    fruits = serializers.BooleanField()


class GrowthForms(ListEndpoint):
    endpoint = "growth-forms"
    row = GrowthFormOut
    sorts = {"code": "code"}
    usual_sort = "code"

    def rows(self) -> QuerySet[GrowthForm]:
        """The forms that a plant grows in, and whether it fruits in them."""
        return growth_forms()


class MethodOut(VersionedRow):
    code = serializers.CharField()
    name = serializers.CharField()
    uses_herbicide = serializers.BooleanField()
    qualification = serializers.CharField(source="qualification.code", allow_null=True)
    mix = serializers.CharField(source="default_mix.code", allow_null=True)
    facts = serializers.DictField(help_text="What the estimate reads of the method.")
    is_active = serializers.BooleanField(help_text="Whether it is offered for anything new.")


class MethodNeedOut(Out):
    equipment = serializers.CharField(source="equipment.code")
    units_per_crew = serializers.IntegerField()


class MethodNeeding(MethodOut):
    equipment = MethodNeedOut(source="equipment_needs", many=True, help_text="What a crew has with it on a day.")


class NeedIn(Body):
    equipment = Text(max_length=50, help_text="Its code.")
    units_per_crew = Whole(min_value=1, max_value=MOST_UNITS)


class NeedsIn(Body):
    equipment = many(NeedIn, most=50, help_text="What is left out the method does not need.")


class MethodFilter(Filters):
    code = OfWord()
    is_active = YesNo()
    uses_herbicide = YesNo()


class Methods(ListEndpoint):
    endpoint = "methods"
    row = MethodOut
    filters = MethodFilter
    sorts = {"code": "code", "name": "name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Method]:
        """Ways to treat a patch, and what each needs."""
        return methods().prefetch_related(None)

    @writes(MethodNeeding, body=MethodIn, names_others=True, located_at="method")
    def post(self) -> Method:
        """Add a method. It is estimated once a rate book in force holds its rates."""
        told = _facts(self.body) | {"code": self.body["code"]}
        return method_add(facts=told, stamp=self.stamp(), **_named(self.body))


class MethodOne(Endpoint):
    endpoint = "method"

    @shows(MethodNeeding)
    def get(self, method_id: Any) -> Method:
        """One method, with the equipment that it needs."""
        return method_of(method_id)

    @edits(MethodNeeding, body=MethodReplace, names_others=True)
    def put(self, method_id: Any) -> Method:
        """Replace all of a method but its code and its equipment. Estimates keep what they were made with."""
        method = method_of(method_id)
        expected, facts = self.version_named(method), _facts(self.body)
        told = _named(self.body) | {"is_active": self.body.get("is_active")}
        return method_edit(method=method, facts=facts, expected=expected, stamp=self.stamp(), **told)


def _facts(body: dict[str, Any]) -> dict[str, str]:
    return {name: str(value) for name, value in body["facts"].items()}


def _named(body: dict[str, Any]) -> dict[str, Any]:
    kind, mix = body["qualification"], body["mix"]
    return {
        "qualification": None if kind is None else qualification_kind_by_code(kind),
        "mix": None if mix is None else mix_by_code(mix),
    }


class MethodEquipmentAll(Endpoint):
    endpoint = "method-equipment"

    @edits(MethodNeeding, body=NeedsIn, names_others=True)
    def put(self, method_id: Any) -> Method:
        """Say what a crew has with it on a day of the method."""
        method = method_of(method_id)
        expected = self.version_named(method)
        units = _units(self.body["equipment"])
        return method_equipment_set(method=method, units=units, expected_version=expected, stamp=self.stamp())


def _units(rows: list[dict[str, Any]]) -> dict[Equipment, int]:
    units: dict[Equipment, int] = {}
    for number, row in enumerate(rows):
        kind = equipment_by_code(row["equipment"])
        if kind in units:
            errors = [FieldError(f"equipment[{number}].equipment", "is named twice", code="unique")]
            raise Invalid("The method's equipment was not changed.", errors)
        units[kind] = row["units_per_crew"]
    return units
