"""Day sheets: who has one, what each day comes to by code, who is missing, and what close-outs say otherwise."""

from collections import Counter
from datetime import date, timedelta

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.crews.selectors import memberships_of
from orders.desk.columns import Sortable
from orders.desk.field_forms import DayForm
from orders.desk.forms import asked
from orders.desk.list_rows import day_sheets_file
from orders.desk.listed import file_asked, lines_sorted
from orders.desk.navigation import EVERY_ROLE, GROUND, OFFICE, page_opens_to
from orders.desk.views.pages import page
from orders.field.models import DaySheet
from orders.field.selectors.daysheets import PersonDay, crews_at_work, day_sheets_of, person_days, standing
from orders.workorders.models import TIME_CODES

WHAT = "The page of day sheets"
A_DAY = timedelta(days=1)


@require_safe
@page
def day_sheet_page(request: HttpRequest, actor: User) -> HttpResponse:
    """Of one day: today's by the program's clock, unless the address names another."""
    page_opens_to(actor, EVERY_ROLE, WHAT)
    today = Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
    form = DayForm(request.GET)
    said = asked(form)
    day = said["day"] or today
    sheets = standing(day_sheets_of(actor, on=today)).filter(work_date=day)
    if said["crew"]:
        sheets = sheets.filter(crew__public_id=said["crew"])
    days = _days(actor, list(sheets), day, said["crew"], today)
    total: Counter[str] = sum((row.by_code for row in days), Counter())
    used = {code: words for code, words in TIME_CODES if total[code]}
    listed = lines_sorted(request, days, _columns(used), "person")
    if file_asked(request):
        return day_sheets_file(day, used).reply(listed.found)
    told = {
        "form": form,
        "day": day,
        "before": day - A_DAY,
        "after": day + A_DAY,
        "headings": listed.headings,
        "sort": listed.sort,
        "rows": [(row, [row.by_code[code] for code in used]) for row in listed.found],
        "totals": [total[code] for code in used],
        "total": total.total(),
        "missing": [row.person for row in days if row.sheet is None],
        "sees_ground": actor.has_role(*GROUND),
    }
    return render(request, "desk/day_sheets.html", told)


def _columns(used: dict[str, str]) -> dict[str, Sortable]:
    of_codes = {code: Sortable(words, f"by_code__{code}", is_number=True) for code, words in used.items()}
    return {
        "person": Sortable("Person", "person__name"),
        **of_codes,
        "total": Sortable("Whole day", "total", is_number=True),
        "orders": Sortable("On orders", "on_orders", is_number=True),
        "closed": Sortable("In close-outs", "closed", is_number=True),
        "difference": Sortable("Difference", "difference", is_number=True),
    }


def _days(actor: User, sheets: list[DaySheet], day: date, crew: str, today: date) -> list[PersonDay]:
    """A lead is told who is missing on own crews; the office on every crew that was at work that day."""
    crews = crews_at_work(day)
    if crew:
        crews = crews.filter(public_id=crew)
    keys = set(crews.values_list("pk", flat=True))
    if not actor.has_role(*OFFICE):
        keys &= {member.crew_id for member in memberships_of(actor, today)}
    return person_days(sheets, day=day, crew_ids=sorted(keys))
