"""Species, growth forms and methods: the words that the rest is told in."""

from django.db.models import QuerySet
from rest_framework import serializers

from orders.api.filters import Filters, OfWord, YesNo
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, VersionedRow
from orders.estimates.models import Method
from orders.estimates.selectors import methods
from orders.sites.models import GrowthForm, Species
from orders.sites.selectors import growth_forms, species_all


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


class SpeciesFilter(Filters):
    code = OfWord()
    evergreen = YesNo()


class SpeciesAll(ListEndpoint):
    endpoint = "species"
    row = SpeciesOut
    filters = SpeciesFilter
    sorts = {"code": "code", "scientific_name": "scientific_name"}
    usual_sort = "code"

    def rows(self) -> QuerySet[Species]:
        """Invasive species, with their fruiting range and its source."""
        return species_all()


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


class MethodFilter(Filters):
    code = OfWord()
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
