"""Incidents: spills, exposures, injuries, near misses and stopped work, with what the desk noted since."""

from datetime import date
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.field_forms import IncidentListForm, NoteForm
from orders.desk.list_rows import INCIDENTS
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import GROUND, SAFETY, page_opens_to
from orders.desk.views.pages import page, tried
from orders.workorders.field_facts import incident_get, incidents_of, photos_of
from orders.workorders.incident_notes import incident_note_add

ROWS_A_PAGE = 50
WHAT = "The pages of incidents"
COLUMNS = {
    "at": Sortable("When", "at"),
    "kind": Sortable("Kind", "kind"),
    "site": Sortable("Site", "site__name"),
    "what": Sortable("What happened"),
    "state": Sortable("State"),
}


@require_safe
@page
def incident_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    form = IncidentListForm(request.GET)
    found = form.rows(incidents_of(actor, on=_today(actor)))
    listed = rows_sorted(request, found, COLUMNS, "-at")
    if file_asked(request):
        return INCIDENTS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "form": form, "sort": listed.sort, "headings": listed.headings}
    return render(request, "desk/incidents.html", told)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def incident_page(request: HttpRequest, actor: User, incident_id: UUID) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    incident = incident_get(actor, incident_id, on=_today(actor))
    form, refusal = NoteForm(request.POST or None), None
    if request.method == "POST":
        page_opens_to(actor, SAFETY, "Noting something on an incident")
        if form.is_valid():
            stamp = Stamp(by=actor, at=now())
            refusal = tried(lambda: incident_note_add(incident=incident, **form.cleaned_data, stamp=stamp))
            if refusal is None:
                messages.success(request, "Noted.")
                return redirect("incident", incident_id)
    told = {
        "incident": incident,
        "zone": incident.site.time_zone if incident.site else settings.PROGRAM_TIME_ZONE,
        "photos": photos_of(actor, on=_today(actor)).filter(about="incident", about_id=incident.public_id),
        "form": form,
        "refusal": refusal,
        "may_note": actor.has_role(*SAFETY),
    }
    status = refusal.status if refusal else 400 if form.errors else 200
    return render(request, "desk/incident.html", told, status=status)


def _today(actor: User) -> date:
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
