"""The rules on records: what each asks for, where they differ, and the pesticide supervisor's review."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import Invalid
from orders.common.models import User
from orders.common.models.user import PESTICIDE_SUPERVISOR
from orders.common.stamp import Stamp
from orders.desk.navigation import GROUND, page_opens_to
from orders.desk.record_forms import ProfileForm, profile_initial
from orders.desk.views.pages import page
from orders.workorders.models import RecordProfile
from orders.workorders.records.fields import FIELDS, RecordField
from orders.workorders.records.profiles import record_profile_put, record_profile_review
from orders.workorders.records.rules import profile_get, profiles

WHAT = "The pages of rules on records"
SUPERVISOR = frozenset({PESTICIDE_SUPERVISOR})


@dataclass(frozen=True)
class FieldLine:
    """One field, and what each rule in force says of it: required, where it applies, or nothing."""

    field: RecordField
    marks: tuple[str, ...]


def _today(actor: User) -> date:
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)


@require_safe
@page
def rule_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    today = _today(actor)
    rows = list(profiles())
    current = [row for row in rows if row.first_day <= today and (row.last_day is None or row.last_day >= today)]
    told = {
        "current": current,
        "others": [row for row in rows if row not in current],
        "lines": [FieldLine(field, _marks(field.code, current)) for field in FIELDS],
        "unreviewed": sum(row.reviewed_on is None for row in current),
        "may_edit": actor.has_role(*SUPERVISOR),
    }
    return render(request, "desk/record_rules.html", told)


def _marks(code: str, rows: Sequence[RecordProfile]) -> tuple[str, ...]:
    return tuple(
        "required" if code in row.required else "where it applies" if code in row.if_applicable else "" for row in rows
    )


@require_http_methods(["GET", "HEAD", "POST"])
@page
def rule_page(request: HttpRequest, actor: User, profile_id: UUID) -> HttpResponse:
    """One rule; the supervisor puts the next one from here."""
    page_opens_to(actor, GROUND, WHAT)
    profile = profile_get(profile_id)
    may_edit = actor.has_role(*SUPERVISOR)
    form = ProfileForm(request.POST or None, initial=profile_initial(profile))
    if request.method == "POST" and form.is_valid():
        page_opens_to(actor, SUPERVISOR, "Changing a rule")
        made = _put(form, actor)
        if made is not None:
            messages.success(request, "The rule is added. It is not reviewed yet.")
            return redirect("record-rule", made.public_id)
    told = {
        "profile": profile,
        "may_edit": may_edit,
        "form": form,
        "required": [field.name for field in FIELDS if field.code in profile.required],
        "if_applicable": [field.name for field in FIELDS if field.code in profile.if_applicable],
    }
    return render(request, "desk/record_rule.html", told, status=400 if form.errors else 200)


def _put(form: ProfileForm, actor: User) -> RecordProfile | None:
    where = {name: form.cleaned_data[name] for name in ("jurisdiction", "first_day")}
    try:
        return record_profile_put(**where, values=form.values(), stamp=Stamp(by=actor, at=now()))
    except Invalid as refusal:
        for error in refusal.errors:
            form.add_error(error.field if error.field in form.fields else None, error.message)
        return None


@require_POST
@page
def rule_reviewed(request: HttpRequest, actor: User, profile_id: UUID) -> HttpResponse:
    page_opens_to(actor, SUPERVISOR, "Reviewing a rule")
    seen = request.POST.get("version", "")
    expected = int(seen) if seen.isascii() and seen.isdigit() else 0
    record_profile_review(profile=profile_get(profile_id), expected=expected, stamp=Stamp(by=actor, at=now()))
    messages.success(request, "The review is on record under your name.")
    return redirect("record-rule", profile_id)
