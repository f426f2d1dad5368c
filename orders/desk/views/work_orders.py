"""Work orders: the list, and one order with all that its crew sent from outside."""

from datetime import date
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.labels import THE_LAW
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.columns import Sortable
from orders.desk.dispatch.obstacles import limits_shown, obstacles_shown
from orders.desk.dispatch.order_acts import ActShown, acts_shown
from orders.desk.field_forms import OrderListForm
from orders.desk.listed import Sorted, rows_sorted
from orders.desk.navigation import DESK, EVERY_ROLE, GROUND, MONEY, OFFICE, SAFETY, page_opens_to
from orders.desk.views.pages import page
from orders.field.selectors.checkins import briefings_of
from orders.field.selectors.flags import flags_of
from orders.workorders.batches import balance
from orders.workorders.field_facts import (
    applications_of,
    batches_of,
    incidents_of,
    photo_get,
    photos_of,
    sign_postings_of,
    spans_of,
    weather_checks_of,
)
from orders.workorders.guards import LabelForbids
from orders.workorders.label_cards import label_shown
from orders.workorders.models import MixBatch, WorkOrder
from orders.workorders.photo_files import photo_content
from orders.workorders.records.states import order_record_state, orders_record_states
from orders.workorders.selectors import close_outs, order_get, order_visits, orders_of, overrides

ROWS_A_PAGE = 50
WHAT = "The pages of work orders"
COLUMNS = {
    "number": Sortable("Order", "number", is_number=False),
    "site": Sortable("Site", "site__name"),
    "crew": Sortable("Crew", "crew__name"),
    "days": Sortable("Days", "first_day"),
    "state": Sortable("State", "state"),
    "record": Sortable("Herbicide records"),
    "flags": Sortable("Open flags", "flags_open", is_number=True),
}


def orders_listed(request: HttpRequest, actor: User, form: OrderListForm) -> Sorted:
    found = form.rows(orders_of(actor, on=_today(actor)).defer("site__boundary", "label", "instructions"))
    found = found.annotate(flags_open=Count("flags", filter=Q(flags__state="open"), distinct=True))
    return rows_sorted(request, found, COLUMNS, "-number")


@require_safe
@page
def order_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    form = OrderListForm(request.GET)
    listed = orders_listed(request, actor, form)
    rows = listed.page(request.GET.get("page", "1"), ROWS_A_PAGE)
    records = orders_record_states(list(rows))
    told = {
        "rows": rows,
        "listed": [(order, records[order.pk]) for order in rows],
        "form": form,
        "sort": listed.sort,
        "headings": listed.headings,
        "may_see_flags": actor.has_role(*GROUND),
        "may_mark": actor.has_role(*DESK),
        "stands": request.GET.urlencode(),
    }
    return render(request, "desk/orders.html", told)


@require_safe
@page
def order_page(request: HttpRequest, actor: User, order_id: UUID) -> HttpResponse:
    page_opens_to(actor, EVERY_ROLE, WHAT)
    return order_shown(request, actor, order_get(actor, order_id, on=_today(actor)))


def order_shown(request: HttpRequest, actor: User, order: WorkOrder, tried: ActShown | None = None) -> HttpResponse:
    """The page of an order; `tried` is what was refused there just now."""
    told = {
        "order": order,
        "zone": order.site.time_zone,
        "visits": order_visits(order),
        "records": order_record_state(order),
        "sees_patches": actor.has_role(*OFFICE),
        "overrides": overrides(order),
        "close_outs": list(close_outs(order)),
        "label": label_shown(order),
        "the_law": THE_LAW,
        "spans": spans_of(actor, on=_today(actor)).filter(order=order),
        "sees_ground": actor.has_role(*GROUND),
        "measures": actor.has_role(*(DESK | MONEY)),
        "pays": actor.has_role(*MONEY) and order.state != "void",
        **(_ground(actor, order) if actor.has_role(*GROUND) else {}),
        **_acts(actor, order, tried),
    }
    wrong = tried is not None and not tried.form.is_valid()
    status = tried.refusal.status if tried and tried.refusal else 400 if wrong else 200
    return render(request, "desk/order.html", told, status=status)


def _acts(actor: User, order: WorkOrder, tried: ActShown | None) -> dict[str, Any]:
    """What the office may do now, and what keeps a draft back."""
    if not actor.has_role(*OFFICE):
        return {}
    stamp = Stamp(by=actor, at=now())
    is_draft = order.state == "draft"
    today = stamp.local_date(order.site.time_zone)
    obstacles = obstacles_shown(order, stamp) if is_draft else []
    forbidden = any(isinstance(one.refusal, LabelForbids) for one in obstacles)
    return {
        "acts": acts_shown(actor, order, tried),
        "tried": tried,
        "may_issue": is_draft and actor.has_role(*DESK),
        "obstacles": obstacles,
        "limits": limits_shown(order, today) if forbidden else [],
        "may_pass": actor.has_role(*SAFETY),
        "may_close": actor.has_role(*DESK) and order.state in {"issued", "underway", "closed"},
    }


def _ground(actor: User, order: WorkOrder) -> dict[str, Any]:
    """What finance has no use for: chemicals, pictures, safety and flags."""
    on = _today(actor)
    applications = list(applications_of(actor, on=on).filter(order=order))
    batches = batches_of(actor, on=on).filter(pk__in={row.batch_id for row in applications})
    incidents = incidents_of(actor, on=on).filter(order=order)
    signs = sign_postings_of(actor, on=on).filter(order=order)
    briefings = briefings_of(actor, on=on).filter(site=order.site_id, crew=order.crew_id)
    return {
        "applications": applications,
        "batches": [(batch, balance(batch, batch.work_date)) for batch in batches],
        "checks": weather_checks_of(actor, on=on).filter(_of_order(order, list(batches))),
        "photos": photos_of(actor, on=on).filter(order=order),
        "signs": signs,
        "incidents": incidents,
        "briefings": [row for row in briefings if str(order.public_id) in map(str, row.orders)],
        "flags": flags_of(actor, on=on).filter(order=order),
    }


def _of_order(order: WorkOrder, batches: list[MixBatch]) -> Q:
    """A check of weather names the order, or the batch that was used on it."""
    return Q(order=order) | Q(order__isnull=True, batch__in=batches)


@require_safe
@page
def photo_file(request: HttpRequest, actor: User, photo_id: UUID) -> HttpResponse:
    """The picture as the tablet sent it, for whoever may see what it is of."""
    page_opens_to(actor, GROUND, "Pictures from the field")
    photo = photo_get(actor, photo_id, on=_today(actor))
    return HttpResponse(photo_content(photo), content_type=photo.content_type)


def _today(actor: User) -> date:
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)
