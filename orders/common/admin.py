"""The administrator's pages: opened by role, every write leaves a change record, nothing is ever deleted."""

from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.contrib import admin, messages
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.models import Group
from django.db import models
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from orders.common.changes import change_record, version_bump
from orders.common.clock import now
from orders.common.errors import Refusal
from orders.common.models import Change, Role, User, VersionedModel
from orders.common.models.user import ADMINISTRATOR
from orders.common.rows import plain_values, row_add, row_edit, row_facts
from orders.common.services import user_roles_set
from orders.common.stamp import Stamp
from orders.common.transactions import writing

if TYPE_CHECKING:
    Pages = admin.ModelAdmin[Any]
    PartPages = admin.TabularInline[Any, Any]
    UserPages = UserAdmin[User]
    RowForm = forms.ModelForm[Any]
else:  # these take no parameters when they run
    Pages, PartPages, UserPages, RowForm = admin.ModelAdmin, admin.TabularInline, UserAdmin, forms.ModelForm

admin.site.unregister(Group)  # roles say what a user may do


def admin_stamp(request: HttpRequest) -> Stamp:
    assert isinstance(request.user, User)  # the admin lets nobody else in
    return Stamp(by=request.user, at=now(), reason="Edited in the administration pages.")


class ByRole:
    """Opened to the roles named; what is opened may be added and edited, never deleted."""

    roles: ClassVar[frozenset[str]] = frozenset({ADMINISTRATOR})

    def opened(self, request: HttpRequest) -> bool:
        return isinstance(request.user, User) and request.user.has_role(*self.roles)

    def has_module_permission(self, request: HttpRequest) -> bool:
        return self.opened(request)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self.opened(request)

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self.opened(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return self.opened(request)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class LookOnly(ByRole):
    """Records and derived rows: to look at."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class LookOnlyAdmin(LookOnly, Pages):
    """Pages of a table that nobody edits by hand."""


class VersionedForm(RowForm):
    """Carries the version that was opened, so that two people who edit at once do not undo each other's work."""

    opened_version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["opened_version"].initial = self.instance.version
        self.fields["opened_version"].required = self.instance.pk is not None

    def clean(self) -> dict[str, Any] | None:
        cleaned = super().clean()
        opened = self.cleaned_data.get("opened_version")
        if self.instance.pk is not None and opened != self.instance.version:
            self.add_error(None, "This was changed by somebody else since you opened it. Open it again.")
        return cleaned


class RecordedAdmin(ByRole, Pages):
    """Pages whose every write is recorded. `unrecorded` names fields that the record must not show."""

    unrecorded: ClassVar[frozenset[str]] = frozenset()

    def get_form(self, request: HttpRequest, obj: Any = None, change: bool = False, **kwargs: Any) -> Any:
        if issubclass(self.model, VersionedModel) and not issubclass(self.form, VersionedForm):
            kwargs.setdefault("form", VersionedForm)
        return super().get_form(request, obj, change, **kwargs)

    def changeform_view(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """A refusal by a verb is told on the page that it came from; nothing was written."""
        try:
            return super().changeform_view(request, *args, **kwargs)
        except Refusal as refusal:
            said = " ".join([refusal.detail, *(error.message for error in refusal.errors)])
            self.message_user(request, said, messages.ERROR)
            return HttpResponseRedirect(request.get_full_path())

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        stamp = admin_stamp(request)
        with writing():
            if not change:
                row_add(obj, stamp=stamp, verb="admin_add", leave_out=self.unrecorded)
            elif isinstance(obj, VersionedModel):
                self._edit(obj, form, stamp)
            else:
                before = row_facts(type(obj)._default_manager.get(pk=obj.pk), self.unrecorded)
                obj.save()
                _record(stamp, obj, before, row_facts(obj, self.unrecorded))

    def _edit(self, obj: VersionedModel, form: Any, stamp: Stamp) -> None:
        """The form has put the new values into its row; those of its own columns that differ are written."""
        kept = type(obj)._default_manager.get(pk=obj.pk)
        columns = {field.name: getattr(obj, field.name) for field in obj._meta.concrete_fields if field.editable}
        expected = form.cleaned_data["opened_version"]
        row_edit(kept, stamp=stamp, verb="admin_edit", expected=expected, values=columns)
        obj.version = kept.version

    def save_formset(self, request: HttpRequest, form: Any, formset: Any, change: bool) -> None:
        """The parts of a row belong to it: they are recorded as its change, and count its version."""
        stamp, row, name = admin_stamp(request), form.instance, formset.prefix
        with writing():
            before = _parts(formset, row)
            super().save_formset(request, form, formset, change)
            after = _parts(formset, row)
            if before != after:
                if isinstance(row, VersionedModel) and change:
                    version_bump(row, expected=None)
                _record(stamp, row, {name: before}, {name: after})


def _parts(formset: Any, row: models.Model) -> list[dict[str, Any]]:
    parts = formset.model._default_manager.filter(**{formset.fk.name: row}).order_by("pk")
    return [row_facts(part, {formset.fk.name}) for part in parts]


def _record(stamp: Stamp, row: models.Model, before: dict[str, Any], after: dict[str, Any]) -> None:
    """What differs, and only that."""
    changed = sorted(name for name in after if before.get(name) != after[name])
    if changed:
        change_record(
            stamp=stamp,
            verb="admin_edit",
            entity=row,
            before={name: before.get(name) for name in changed},
            after={name: after[name] for name in changed},
        )


class AddOnlyAdmin(RecordedAdmin):
    """Dated rows: the next one is added beside them, and older days keep theirs."""

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


class PartsInline(ByRole, PartPages):
    """Parts on the page of the row they belong to."""

    extra = 0
    can_delete = False


@admin.register(User)
class UserRowAdmin(ByRole, UserPages):
    """Users and their roles. A user who leaves is made inactive."""

    list_display = ("username", "first_name", "last_name", "email", "is_active", "role_names")
    list_filter = ("is_active", "roles")
    filter_horizontal = ("roles",)
    readonly_fields = ("last_login", "date_joined")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("Access", {"fields": ("is_active", "roles", "last_login", "date_joined")}),
    )
    add_fieldsets = (
        (None, {"fields": ("username", "usable_password", "password1", "password2")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("Access", {"fields": ("roles",)}),
    )

    def get_queryset(self, request: HttpRequest) -> models.QuerySet[User]:
        return super().get_queryset(request).prefetch_related("roles")

    @admin.display(description="Roles")
    def role_names(self, user: User) -> str:
        return ", ".join(role.name for role in user.roles.all())

    def save_model(self, request: HttpRequest, obj: User, form: Any, change: bool) -> None:
        before = _user_facts(User.objects.get(pk=obj.pk)) if change else {}
        with writing():
            super().save_model(request, obj, form, change)
            _record(admin_stamp(request), obj, before, _user_facts(obj))

    def save_related(self, request: HttpRequest, form: Any, formsets: Any, change: bool) -> None:
        user = form.instance
        before = sorted(user.roles.values_list("code", flat=True))
        with writing():
            super().save_related(request, form, formsets, change)
            user_roles_set(user, list(user.roles.all()))
            _record(admin_stamp(request), user, {"roles": before}, {"roles": sorted(user.role_codes)})

    def user_change_password(self, request: HttpRequest, id: str, form_url: str = "") -> HttpResponse:
        """The page answers a change with a redirect, and a mistake with itself."""
        response = super().user_change_password(request, id, form_url)
        if request.method == "POST" and response.status_code == HttpResponseRedirect.status_code:
            user = User.objects.get(pk=id)
            change_record(stamp=admin_stamp(request), verb="admin_password_set", entity=user)
        return response


def _user_facts(user: User) -> dict[str, Any]:
    names = ("username", "first_name", "last_name", "email", "is_active")
    return plain_values({name: getattr(user, name) for name in names})


@admin.register(Role)
class RoleAdmin(LookOnlyAdmin):
    list_display = ("name", "code")


@admin.register(Change)
class ChangeAdmin(LookOnlyAdmin):
    """Who did what, when and why: the record of every write."""

    list_display = ("id", "at", "actor", "verb", "entity", "entity_version", "reason")
    list_filter = ("verb", "entity")
    search_fields = ("entity_id", "actor__username")
    list_select_related = ("actor",)
    show_full_result_count = False
