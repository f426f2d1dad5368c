"""The board and orders at the desk, in the states that look different."""

from datetime import date

from orders import flow
from orders.sites.models import ChecklistQuestion
from tests import build
from tests.api.scene import Scene, scene_build, stated
from tests.browser.season_pages import of, wide
from tests.workorders.orders import herbicide, spray_order


def _questions() -> None:
    ChecklistQuestion.objects.create(code="owner", question="Has the owner agreed to this work?", sort=1)
    ChecklistQuestion.objects.create(code="nests", question="Are there nests that set dates?", sort=2)


def _scene() -> Scene:
    made = scene_build()
    made.order.instructions = "Park at the barn, not at the gate."
    made.order.save()
    return made


def board_two_weeks() -> str:
    return of(wide(), "board/?week=2027-02-08&span=two")


def board_closed() -> str:
    made = wide()
    for number in range(3):
        build.ClosureFactory(
            site=made.sites[0] if number == 0 else build.SiteFactory(name=f"Preserve far {number}"),
            first_day=date(2027, 2, 9),
            last_day=date(2027, 2, 9 + number),
        )
    made.visits[2].shares.update(planned_hours=150)
    return of(made, "board/?week=2027-02-08&site=OXBOW")


def board_none() -> str:
    return "/board/"


def work_place() -> str:
    return f"/asked/{wide().asked[4].public_id}/place/"


def visit_off() -> str:
    return f"/visits/{wide().visits[1].public_id}/off/"


def order_kept_back() -> str:
    made = _scene()
    _questions()
    made.order.funding.all().delete()
    return f"/orders/{made.order.public_id}/"


def order_ready() -> str:
    return f"/orders/{_scene().order.public_id}/"


def order_limits() -> str:
    order = spray_order(milliliters=9_000, product=herbicide(reviewed_on=date(2024, 1, 1)))
    return f"/orders/{order.public_id}/"


def order_issued() -> str:
    made = _scene()
    made.issue()
    return f"/orders/{made.order.public_id}/"


def order_close() -> str:
    made = _scene()
    made.issue()
    build.StockLotFactory()
    return f"/orders/{made.order.public_id}/close/"


def order_amend() -> str:
    made = _scene()
    made.issue()
    flow.close_order(order=made.order, statement=stated(made.order), stamp=made.stamp("lead"))
    return f"/orders/{made.order.public_id}/amend/"


def checklist() -> str:
    made = _scene()
    _questions()
    question = ChecklistQuestion.objects.get(code="owner")
    build.ChecklistAnswerFactory(site=made.order.site, question=question, valid_until=date(2027, 12, 31))
    return f"/sites/{made.order.site.public_id}/checklist/?order={made.order.public_id}"


STATES = {
    "board-two-weeks": board_two_weeks,
    "board-closed": board_closed,
    "board-none": board_none,
    "work-place": work_place,
    "visit-off": visit_off,
    "order-kept-back": order_kept_back,
    "order-ready": order_ready,
    "order-limits": order_limits,
    "order-issued": order_issued,
    "order-close": order_close,
    "order-amend": order_amend,
    "checklist": checklist,
}
