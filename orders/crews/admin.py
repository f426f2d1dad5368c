"""People, qualifications and crews."""

from django.contrib import admin

from orders.common.admin import AddOnlyAdmin, RecordedAdmin
from orders.crews.models import (
    Absence,
    Crew,
    CrewMembership,
    LaborRole,
    Person,
    Qualification,
    QualificationKind,
    StandardRate,
)


@admin.register(LaborRole)
class LaborRoleAdmin(RecordedAdmin):
    list_display = ("name", "code")


@admin.register(StandardRate)
class StandardRateAdmin(AddOnlyAdmin):
    list_display = ("role", "from_day", "rate_e4", "source")
    list_filter = ("role",)
    list_select_related = ("role",)


@admin.register(Person)
class PersonAdmin(RecordedAdmin):
    """A person who leaves is made inactive: their hours stay on record."""

    list_display = ("name", "person_type", "role", "user", "is_active")
    list_filter = ("is_active", "person_type", "role")
    search_fields = ("name", "email")
    list_select_related = ("role", "user")
    autocomplete_fields = ("user",)


@admin.register(QualificationKind)
class QualificationKindAdmin(RecordedAdmin):
    list_display = ("name", "code", "is_license")


@admin.register(Qualification)
class QualificationAdmin(RecordedAdmin):
    list_display = ("person", "kind", "jurisdiction", "number", "first_day", "last_day", "supervised_by")
    list_filter = ("kind", "jurisdiction")
    search_fields = ("person__name", "number")
    list_select_related = ("person", "kind", "jurisdiction", "supervised_by")
    autocomplete_fields = ("person", "supervised_by")
    date_hierarchy = "last_day"


@admin.register(Crew)
class CrewAdmin(RecordedAdmin):
    list_display = ("name", "hours_a_day", "works_weekdays", "is_active")


@admin.register(CrewMembership)
class CrewMembershipAdmin(RecordedAdmin):
    """A person who leaves a crew gets a last day there."""

    list_display = ("crew", "person", "is_lead", "first_day", "last_day")
    list_filter = ("crew",)
    list_select_related = ("crew", "person")
    search_fields = ("person__name",)
    autocomplete_fields = ("person",)


@admin.register(Absence)
class AbsenceAdmin(RecordedAdmin):
    list_display = ("first_day", "last_day", "crew", "person", "why")
    list_filter = ("crew",)
    list_select_related = ("crew", "person")
    search_fields = ("person__name", "why")
    autocomplete_fields = ("person",)
    date_hierarchy = "first_day"
