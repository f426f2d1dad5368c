"""The cover of a week's bundle: who goes where on which day, what to load, and what to draw from stock."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from orders.carried.orders import orders_shown
from orders.carried.work import Part as Share
from orders.crews.models import Crew
from orders.desk.papers import Paper, Part, spoken
from orders.desk.templatetags.units import volume
from orders.planning.models import VisitShare
from orders.supplies.models import Product
from orders.supplies.selectors import stock_by_product
from orders.workorders.models import WorkOrder
from orders.workorders.records.words import day_words

UL_PER_L = 1_000_000


@dataclass(frozen=True)
class Draw:
    """A product that the week's work takes, and what is in stock."""

    product: Product
    needed_ul: int
    held_ul: int

    @property
    def short_ul(self) -> int:
        return max(0, self.needed_ul - self.held_ul)

    @property
    def needed_l(self) -> float:
        return self.needed_ul / UL_PER_L

    @property
    def held_l(self) -> float:
        return self.held_ul / UL_PER_L

    @property
    def short_l(self) -> float:
        return self.short_ul / UL_PER_L


def week_of(day: date) -> tuple[date, date]:
    """Monday and Sunday."""
    monday = day - timedelta(days=day.weekday())
    return monday, monday + timedelta(days=6)


def draws(orders: Sequence[WorkOrder], first: date, last: date) -> list[Draw]:
    """Summed over the visits of those days; what was called off takes nothing. Three queries."""
    shares = VisitShare.objects.filter(visit__order_visit__order__in=orders, visit__day__range=(first, last))
    shares = shares.exclude(visit__state__in=["dropped", "not_done"]).select_related("prescription__estimate")
    needed: dict[str, float] = defaultdict(float)
    for share in shares.defer("prescription__estimate__inputs", "prescription__estimate__result"):
        part = Share.of(share)
        for code, amount_ul in part.estimate.products_ul.items():
            needed[code] += amount_ul * part.fraction
    held = {row.product.pk: row.held for row in stock_by_product() if row.unit == "uL"}
    products = Product.objects.filter(code__in=needed).order_by("name")
    return [Draw(row, math.ceil(needed[row.code]), held.get(row.pk, 0)) for row in products]


def bundle_cover(
    crew: Crew | None, orders: Sequence[WorkOrder], first: date, last: date, language: str | None
) -> Paper:
    with spoken(language) as known:
        told = orders_shown(orders)
        return Paper(
            title=_("Week of %(crew)s") % {"crew": crew.name} if crew else _("Orders that were marked"),
            subtitle=f"{day_words(first)} – {day_words(last)}",
            language=known,
            parts=[
                _week(orders, told, first, last),
                Part(_("Load on the truck"), lines=_tools(told)),
                _stock(draws(orders, first, last)),
            ],
        )


def _week(orders: Sequence[WorkOrder], told: Sequence[Mapping[str, Any]], first: date, last: date) -> Part:
    rows = []
    for order, row in zip(orders, told, strict=True):
        codes = {work["prescription"]: work["patch_code"] for work in row["work"]}
        for visit in row["visits"]:
            day = date.fromisoformat(visit["day"])
            if first <= day <= last and visit["state"] != "not_done":
                patches = ", ".join(codes.get(part["prescription"], "") for part in visit["prescriptions"])
                drive = _("%(minutes)d min") % {"minutes": order.site.drive_minutes}
                hours = f"{visit['hours']['likely']:.1f}"
                rows.append((day, order.number, order.site.name, patches, hours, drive))
    shown = [(day_words(day), str(number), *rest) for day, number, *rest in sorted(rows)]
    columns = (_("Day"), _("Order"), _("Site"), _("Patches"), _("Person-hours"), _("Drive"))
    return Part(_("The week"), columns=columns, rows=shown, shares=(0.2, 0.1, 0.22, 0.24, 0.12, 0.12))


def _tools(told: Iterable[Mapping[str, Any]]) -> list[str]:
    """Orders of different days share their tools: the most that one of them asks for."""
    most: dict[str, int] = {}
    gear: dict[str, None] = {}
    for row in told:
        for tool in row["bring"]:
            most[tool["name"]] = max(most.get(tool["name"], 0), tool["count"])
        gear |= dict.fromkeys(row["protective_equipment"])
    return [*(f"{count} × {name}" for name, count in sorted(most.items())), *gear]


def _stock(rows: Sequence[Draw]) -> Part:
    short = [row.product.name for row in rows if row.short_ul]
    told = _("Stock is short of: %(products)s") % {"products": ", ".join(short)} if short else ""
    return Part(
        _("Draw from stock"),
        columns=(_("Product"), _("Needed"), _("In stock"), _("Short")),
        rows=[(row.product.name, volume(row.needed_l), volume(row.held_l), _short(row)) for row in rows],
        caution=told,
    )


def _short(row: Draw) -> str:
    return volume(row.short_l) if row.short_ul else "–"
