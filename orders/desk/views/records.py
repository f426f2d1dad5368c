"""Application records: those that are signed, those that are owed, and one on its own."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable, headings, ordering, sort_asked
from orders.desk.forms import asked
from orders.desk.list_rows import RECORDS_OWED
from orders.desk.listed import file_asked, lines_sorted, rows_sorted
from orders.desk.navigation import GROUND, SAFETY, page_opens_to
from orders.desk.paper_record import record_paper
from orders.desk.papers import LANGUAGES
from orders.desk.record_forms import HoldForm, LiftForm, RecordListForm
from orders.desk.views.order_print import pdf_reply
from orders.desk.views.pages import page
from orders.reports.records import records_csv
from orders.workorders.models import ApplicationRecord
from orders.workorders.records.keeping import hold_get, record_hold_lift, record_hold_place
from orders.workorders.records.lists import record_get, record_revisions, records_of, uses_of
from orders.workorders.records.states import record_has_changed, records_open

ROWS_A_PAGE = 50
WHAT = "The pages of application records"
COLUMNS = {
    "day": Sortable("Work day", "work_date", is_number=True),
    "site": Sortable("Site", "site__name"),
    "responsible": Sortable("Applicator", "responsible__name"),
    "products": Sortable("Products"),
    "signed": Sortable("Signed", "at"),
    "due": Sortable("Due", "due_on"),
    "state": Sortable("State"),
    "kept": Sortable("Kept until", "retain_until"),
}

OWED_COLUMNS = {
    "used": Sortable("Used", "group__ended_at"),
    "site": Sortable("Site", "group__site__name"),
    "responsible": Sortable("Applicator", "group__responsible__name"),
    "orders": Sortable("Orders"),
    "state": Sortable("State", "state"),
    "due": Sortable("Due", "due_on"),
    "rule": Sortable("Rule"),
}


def _stamp(actor: User, reason: str = "") -> Stamp:
    return Stamp(by=actor, at=now(), reason=reason)


def _today(actor: User) -> Any:
    return _stamp(actor).local_date(settings.PROGRAM_TIME_ZONE)


@require_safe
@page
def record_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    form = RecordListForm(request.GET)
    found = form.rows(records_of(actor, on=_today(actor)))
    sort = sort_asked(COLUMNS, request.GET.get("sort", ""), "-day")
    rows = Paginator(found.order_by(*ordering(COLUMNS, sort)), ROWS_A_PAGE).get_page(request.GET.get("page", "1"))
    told = {
        "rows": rows,
        "form": form,
        "sort": sort,
        "headings": headings(COLUMNS, sort, request.GET),
        "owed": len(records_open(uses_of(actor, on=_today(actor)))),
    }
    return render(request, "desk/records.html", told)


@require_safe
@page
def record_list_file(request: HttpRequest, actor: User) -> HttpResponse:
    """All records that the page of the same address shows, whatever page of them."""
    page_opens_to(actor, GROUND, WHAT)
    found = RecordListForm(request.GET).rows(records_of(actor, on=_today(actor)))
    rows = rows_sorted(request, found, COLUMNS, "-day").found
    reply = HttpResponse(records_csv(rows), content_type="text/csv; charset=utf-8; header=present")
    reply["Content-Disposition"] = 'attachment; filename="application-records.csv"'
    return reply


@require_safe
@page
def records_owed_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    stamp = _stamp(actor)
    listed = lines_sorted(request, records_open(uses_of(actor, on=_today(actor))), OWED_COLUMNS, "")
    if file_asked(request):
        return RECORDS_OWED.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    owed = [(state, state.is_late(stamp), (state.due_on - state.today(stamp)).days) for state in rows]
    told = {"rows": rows, "owed": owed, "headings": listed.headings, "sort": listed.sort}
    return render(request, "desk/records_owed.html", told)


@require_safe
@page
def record_page(request: HttpRequest, actor: User, record_id: UUID) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    return _shown(request, actor, record_get(actor, record_id, on=_today(actor)))


def _shown(request: HttpRequest, actor: User, record: ApplicationRecord) -> HttpResponse:
    zone = record.site.time_zone
    told = {
        "record": record,
        "paper": record_paper(record, request.GET.get("lang")),
        "languages": LANGUAGES,
        "revisions": list(record_revisions(record)),
        "has_changed": record_has_changed(record),
        "was_late": Stamp(by=None, at=record.at).local_date(zone) > record.due_on,
        "zone": zone,
        "holds": record.holds.select_related("placed_by", "lifted_by").order_by("id"),
        "may_hold": actor.has_role(*SAFETY),
        "hold_form": HoldForm(),
    }
    return render(request, "desk/record.html", told)


@require_safe
@page
def record_file(request: HttpRequest, actor: User, record_id: UUID) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    record = record_get(actor, record_id, on=_today(actor))
    name = f"application-record-{record.work_date}-{record.site.code.lower()}"
    return pdf_reply(record_paper(record, request.GET.get("lang")), name)


@require_POST
@page
def hold_placed(request: HttpRequest, actor: User, record_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, "Holding a record")
    record = record_get(actor, record_id, on=_today(actor))
    record_hold_place(record=record, why=asked(HoldForm(request.POST))["why"], stamp=_stamp(actor))
    messages.success(request, "The record is held until somebody lifts the hold.")
    return redirect("record", record.public_id)


@require_POST
@page
def hold_lifted(request: HttpRequest, actor: User, record_id: UUID, hold_id: UUID) -> HttpResponse:
    page_opens_to(actor, SAFETY, "Holding a record")
    record = record_get(actor, record_id, on=_today(actor))
    stamp = _stamp(actor, asked(LiftForm(request.POST))["why"])
    record_hold_lift(hold=hold_get(record, hold_id), stamp=stamp)
    messages.success(request, "The hold is lifted. The record's own term still holds.")
    return redirect("record", record.public_id)
