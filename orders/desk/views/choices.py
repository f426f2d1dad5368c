"""Choices that were made: the list, what each did, and putting one back."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.list_rows import CHOICES
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.planning.choosing import choice_batch_undo
from orders.planning.selectors import choice_batch_get, choice_batches, choice_parts

ROWS_A_PAGE = 25
PARTS_A_PAGE = 50
WHAT = "Choosing methods"
COLUMNS = {
    "made": Sortable("Made", "made_at"),
    "what": Sortable("What"),
    "for": Sortable("For"),
    "parts": Sortable("Prescriptions"),
    "state": Sortable("State", "state"),
}


@require_safe
@page
def choice_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    listed = rows_sorted(request, choice_batches(), COLUMNS, "-made")
    if file_asked(request):
        return CHOICES.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "headings": listed.headings, "may_choose": actor.has_role(*DESK)}
    return render(request, "desk/choices.html", told)


@require_safe
@page
def choice_page(request: HttpRequest, actor: User, batch_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    batch = choice_batch_get(batch_id)
    rows = Paginator(choice_parts().filter(batch=batch), PARTS_A_PAGE).get_page(request.GET.get("page", "1"))
    told = {"batch": batch, "rows": rows, "may_choose": actor.has_role(*DESK)}
    return render(request, "desk/choice.html", told)


@require_POST
@page
def choice_undo(request: HttpRequest, actor: User, batch_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    choice_batch_undo(batch=choice_batch_get(batch_id), stamp=Stamp(by=actor, at=now()))
    messages.success(request, "The choice is undone: everything is as it was before it.")
    return redirect("choice", batch_id=batch_id)
