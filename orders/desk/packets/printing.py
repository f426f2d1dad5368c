"""Packets as files: one order, or the bundle of a week, printed as editions or only looked at."""

from collections.abc import Sequence
from datetime import date

from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Crew
from orders.desk.packets.paper_bundle import bundle_cover
from orders.desk.packets.paper_packet import packet_paper
from orders.desk.paper_pdf import papers_pdf
from orders.desk.papers import Paper
from orders.workorders.models import OrderEdition, WorkOrder
from orders.workorders.printing import order_edition_print

MOST_ORDERS = 40  # some five pages each: more is no bundle that a crew can carry


def packet_pdf(order: WorkOrder, language: str | None, *, stamp: Stamp, as_edition: bool = False) -> bytes:
    paper = _paper(order, language, stamp, as_edition)
    return papers_pdf([paper], paper.title)


def _printed(order: WorkOrder, language: str | None, stamp: Stamp) -> Paper:
    """The newest edition, made now where something changed; it tells what is not as in the one before."""
    edition = order_edition_print(order=order, stamp=stamp)
    return packet_paper(order, language, stamp, edition, _before(edition))


def _before(edition: OrderEdition) -> object:
    before = OrderEdition.objects.filter(order=edition.order_id, number=edition.number - 1).first()
    return before.facts if before else None


def bundle_pdf(
    orders: Sequence[WorkOrder],
    days: tuple[date, date],
    language: str | None,
    *,
    crew: Crew | None,
    stamp: Stamp,
    as_edition: bool = False,
) -> bytes:
    """A cover sheet, then each order's packet with pages of its own."""
    if not orders:
        raise Invalid("There is nothing to print.", [FieldError("order", "no issued order lies in these days")])
    if len(orders) > MOST_ORDERS:
        raise Invalid("That is too much for one bundle.", [FieldError("order", f"at most {MOST_ORDERS} orders")])
    with writing():  # all editions or none
        papers = [_paper(order, language, stamp, as_edition) for order in orders]
    cover = bundle_cover(crew, orders, *days, language)
    return papers_pdf([cover, *papers], cover.title)


def _paper(order: WorkOrder, language: str | None, stamp: Stamp, as_edition: bool) -> Paper:
    return _printed(order, language, stamp) if as_edition else packet_paper(order, language, stamp)
