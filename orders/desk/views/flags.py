"""Flags: what somebody must look at, and what comes of it; a held close-out stands beside the one that counts."""

from datetime import date
from itertools import groupby
from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from orders.commands.comparing import close_outs_compared
from orders.commands.comparing_steps import step_compared
from orders.commands.settling import resolutions_open, settle_flag
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.field_forms import FlagListForm, SettleForm
from orders.desk.list_rows import FLAGS
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import GROUND, SAFETY, page_opens_to
from orders.desk.views.pages import page, tried
from orders.field.models import Flag
from orders.field.selectors.flags import flag_get, flags_of

ROWS_A_PAGE = 50
WHAT = "The pages of flags"
COLUMNS = {
    "severity": Sortable("How pressing", "severity"),  # by chance the words come in the order of their weight
    "title": Sortable("What", "title"),
    "kind": Sortable("Kind", "kind"),
    "where": Sortable("Where", "site__name"),
    "raised": Sortable("Raised", "raised_at"),
    "state": Sortable("State", "state"),
}
GROUPS = {
    "order": "The order",
    "statement": "The statement",
    "outcomes": "Percent complete",
    "people": "Minutes by person",
    "materials": "Material by lot",
}


@require_safe
@page
def flag_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    form = FlagListForm(request.GET)
    found = form.rows(flags_of(actor, on=_today(actor)))
    listed = rows_sorted(request, found, COLUMNS, "-severity")
    if file_asked(request):
        return FLAGS.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "form": form, "sort": listed.sort, "headings": listed.headings}
    return render(request, "desk/flags.html", told)


@require_http_methods(["GET", "HEAD", "POST"])
@page
def flag_page(request: HttpRequest, actor: User, flag_id: UUID) -> HttpResponse:
    page_opens_to(actor, GROUND, WHAT)
    flag = flag_get(actor, flag_id, on=_today(actor))
    offered, refusal = resolutions_open(flag), None
    form = SettleForm(request.POST or None, resolutions=offered) if offered else None
    if request.method == "POST":
        page_opens_to(actor, SAFETY, "Settling a flag")
        if form is not None and form.is_valid():
            said, stamp = form.cleaned_data, Stamp(by=actor, at=now())
            refusal = tried(lambda: settle_flag(flag=flag, **said, stamp=stamp))
            if refusal is None:
                messages.success(request, "Settled.")
                return redirect("flag", flag_id)
            flag = flag_get(actor, flag_id, on=_today(actor))
    told = {"flag": flag, "form": form, "refusal": refusal, "may_settle": actor.has_role(*SAFETY)}
    status = refusal.status if refusal else 400 if form is not None and form.errors else 200
    return render(request, "desk/flag.html", {**told, **_beside(flag)}, status=status)


def _beside(flag: Flag) -> dict[str, Any]:
    """A held command beside what stands: the close-out that counts, or else the order as it is by now."""
    command = flag.command
    if command is None or flag.state != "open":
        return {}
    sides = close_outs_compared(command)
    found = sides.lines if sides else step_compared(command)
    if found is None:
        return {}
    grouped = groupby(found, key=lambda line: line.group)
    order = command.order
    return {
        "sides": sides,
        "beside": command,
        "groups": [(GROUPS[group], list(lines)) for group, lines in grouped],
        "differences": sum(line.differs for line in found),
        "is_void": order is not None and order.state == "void",
    }


def _today(actor: User) -> date:
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
