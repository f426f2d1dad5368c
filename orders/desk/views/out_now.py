"""Out now: who is outside and until when, today's briefings, signs that still hang, and what is urgent."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from estimating.entry import entry_after
from orders.common.clock import now
from orders.common.errors import NotFound
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.field_forms import FoundForm
from orders.desk.forms import asked
from orders.desk.navigation import GROUND, SAFETY, page_opens_to
from orders.desk.views.pages import page
from orders.field.models import CheckIn, OverdueAlert
from orders.field.selectors.checkins import (
    alerts_by_check_in,
    briefings_of,
    check_in_get,
    check_ins_of,
    out_now,
    overdue,
)
from orders.field.selectors.flags import flags_of
from orders.field.services.checkins import check_in_found
from orders.field.services.overdue import overdue_take
from orders.workorders.field_facts import sign_postings_of, signs_up
from orders.workorders.models import Application, SignPosting

WHAT = "The page of who is out"


@dataclass(frozen=True)
class Out:
    """A check-in that is open, whether it is late, and the alert that it raised."""

    check_in: CheckIn
    is_late: bool
    alert: OverdueAlert | None


@dataclass(frozen=True)
class Hanging:
    posting: SignPosting
    down_by: datetime
    is_late: bool


@require_safe
@page
def out_now_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    at = now()
    today = Stamp(by=actor, at=at).local_date(settings.PROGRAM_TIME_ZONE)
    flags = flags_of(actor, on=today).filter(state="open", severity="urgent")
    told = {
        "out": out_found(actor, at),
        "briefings": briefings_of(actor, on=today).filter(work_date=today),
        "signs": _hanging(actor, at),
        "flags": flags,
        "may_answer": actor.has_role(*SAFETY),
        "today": today,
    }
    return render(request, "desk/out_now.html", told)


def out_found(actor: User, at: datetime) -> list[Out]:
    """The late ones first: they are due before the others."""
    on = Stamp(by=actor, at=at).local_date(settings.PROGRAM_TIME_ZONE)
    rows, alerts = check_ins_of(actor, on=on), alerts_by_check_in()
    late = set(overdue(rows, at=at).values_list("pk", flat=True))
    shown = [Out(row, row.pk in late, alerts.get(row.pk)) for row in out_now(rows)]
    return sorted(shown, key=lambda one: not one.is_late)


def _hanging(actor: User, at: datetime) -> list[Hanging]:
    on = Stamp(by=actor, at=at).local_date(settings.PROGRAM_TIME_ZONE)
    postings = list(signs_up(sign_postings_of(actor, on=on)).defer(None).defer("site__boundary"))
    uses = Application.objects.filter(order__in=[posting.order_id for posting in postings], replaced_by__isnull=True)
    last = {use.order_id: use for use in uses.order_by("at", "id")}
    found = [_sign(posting, last.get(posting.order_id or 0), at) for posting in postings]
    return sorted(found, key=lambda sign: sign.down_by)


def _sign(posting: SignPosting, last: Application | None, at: datetime) -> Hanging:
    """From the last use on its order, by the entry hours of the order's card; without a use, from when it went up."""
    card = (posting.order.label if posting.order else None) or {}
    began, ended = (last.started_at, last.at) if last else (posting.at, posting.at)
    entry = entry_after(began, ended, card.get("restricted_entry_hours") or 0)
    return Hanging(posting, entry.sign_down_by, entry.sign_down_by < at)


@require_POST
@page
def found_safe(request: HttpRequest, actor: User, check_in_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, "Saying that a crew is safe")
    stamp = Stamp(by=actor, at=now())
    check_in = check_in_get(actor, check_in_id, on=stamp.local_date(settings.PROGRAM_TIME_ZONE))
    check_in_found(check_in=check_in, note=asked(FoundForm(request.POST))["note"], stamp=stamp)
    messages.success(request, f"{check_in.crew} is noted as found safe.")
    return redirect("out-now")


@require_POST
@page
def taken_in_hand(request: HttpRequest, actor: User, check_in_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, "Taking an alert in hand")
    stamp = Stamp(by=actor, at=now())
    check_in = check_in_get(actor, check_in_id, on=stamp.local_date(settings.PROGRAM_TIME_ZONE))
    alert = alerts_by_check_in().get(check_in.pk)
    if alert is None:
        raise NotFound("No alert stands for this check-in.")
    overdue_take(alert=alert, stamp=stamp)
    messages.success(request, "Taken in hand. The alert stands until they are found.")
    return redirect("out-now")
