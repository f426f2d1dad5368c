"""The overtime premium by week and person, and each figure of a week opened. Finance's."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.costs.overtime_selectors import workweek_open, workweeks
from orders.desk.columns import Sortable
from orders.desk.listed import file_asked, rows_sorted
from orders.desk.money_list_rows import OVERTIME
from orders.desk.navigation import MONEY, page_opens_to
from orders.desk.overtime_forms import OvertimeListForm
from orders.desk.views.pages import page

ROWS_A_PAGE = 50
WHAT = "The pages of overtime"
COLUMNS = {
    "week": Sortable("Week from", "week_start"),
    "person": Sortable("Person", "person__name"),
    "worked": Sortable("Worked", "worked_minutes", is_number=True),
    "overtime": Sortable("Overtime", "overtime_minutes", is_number=True),
    "premium": Sortable("Premium", "premium_cents", is_number=True),
    "off": Sortable("Time off instead", "comp_minutes", is_number=True),
}


@require_safe
@page
def overtime_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    form = OvertimeListForm(request.GET)
    found = form.rows(workweeks(actor))
    listed = rows_sorted(request, found, COLUMNS, "-week")
    if file_asked(request):
        return OVERTIME.reply(listed.found)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    told = {"rows": rows, "form": form, "sort": listed.sort, "headings": listed.headings}
    return render(request, "desk/overtime.html", told)


@require_safe
@page
def overtime_week_page(request: HttpRequest, actor: User, premium_id: UUID) -> HttpResponse:
    page_opens_to(actor, MONEY, WHAT)
    return render(request, "desk/overtime_week.html", {"opened": workweek_open(actor, premium_id)})
