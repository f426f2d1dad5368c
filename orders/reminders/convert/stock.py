"""Products of which the planned work takes more than is on hand."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from django.db.models import Q

from estimating.units import gallons
from orders.common.stamp import Stamp
from orders.planning.models import Prescription, Season, VisitShare
from orders.reminders.convert.facts import program_zone
from orders.reminders.models import MET, Deadline
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text
from orders.supplies.models import Product
from orders.supplies.selectors import stock_by_product

UL_PER_L = 1_000_000
LEAST_SHORT_UL = 1_000  # a milliliter: sums of shares are fractions

Takes = Mapping[str, Mapping[date, float]]


def stock_short(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each shortage, from the day on which it became known until there is enough."""
    today = stamp.local_date(program_zone())
    takes, held = planned_takes(today), _held_ul()
    standing = {row.product_id: row for row in rows if row.state != MET and row.done_on is None}
    products = Product.objects.filter(Q(code__in=list(takes)) | Q(pk__in=[key for key in standing if key]))
    for product in products.order_by("code"):
        found = _owed(product, takes.get(product.code, {}), held.get(product.pk, 0), standing.get(product.pk), stamp)
        if found is not None:
            yield found


def planned_takes(today: date, of: Season | None = None) -> Takes:
    """Microliters by product code and day: of visits on their day, of what no visit serves yet on the window's last.

    What an open order takes leaves the stock when it is closed; until then it is still to come. `of`: one season alone.
    """
    season = Q(prescription__season=of) if of else Q(prescription__season__last_day__gte=today)
    still = Q(prescription__state__in=("planned", "ordered"), visit__state__in=("planned", "ordered"))
    shares = VisitShare.objects.filter(season & still).order_by("id")
    takes: dict[str, dict[date, float]] = defaultdict(lambda: defaultdict(float))
    served: dict[int, float] = defaultdict(float)
    for key, share, day, left, products in shares.values_list(
        "prescription_id", "share", "visit__day", "prescription__share_left", "prescription__estimate__products_ul"
    ):
        served[key] += share
        _add(takes, products, left * share, max(day, today))
    seasons = Q(season=of) if of else Q(season__last_day__gte=today)
    asked = Prescription.objects.filter(seasons, state__in=("open", "planned")).order_by("id")
    for key, left, day, products in asked.values_list("pk", "share_left", "last_day", "estimate__products_ul"):
        _add(takes, products, left * max(0.0, 1.0 - served[key]), max(day, today))
    return takes


def _add(takes: dict[str, dict[date, float]], products_ul: Mapping[str, float], share: float, day: date) -> None:
    for code, amount in products_ul.items():
        takes[code][day] += amount * share


def _held_ul() -> dict[int, int]:
    return {held.product.pk: held.held for held in stock_by_product() if held.unit == "uL"}


def _owed(
    product: Product, takes: Mapping[date, float], held_ul: int, row: Deadline | None, stamp: Stamp
) -> Owed | None:
    """A shortage, or that the one on record is over; None where there was none."""
    runs_out = _runs_out(takes, held_ul)
    if runs_out is None and row is None:
        return None
    zone = program_zone()
    today = stamp.local_date(zone)
    due_on = runs_out or (row.due_on if row else today)
    planned = sum(takes.values())
    because = (
        f"Planned work takes {_told(planned)} until {day_text(max(takes, default=due_on))}; "
        f"{_told(held_ul)} are on hand. By the plan it runs out on {day_text(due_on)}."
    )
    return Owed(
        key=Key("stock", str(product.public_id), row.period if row else today.isoformat()),
        title=f"Stock of {product.name}",
        due_on=due_on,
        because=because if runs_out or row is None else row.because,
        refs={"product_id": product.pk},
        time_zone=zone,
        known_at=row.known_at if row else stamp.at,
        done_on=None if runs_out else today,
    )


def _told(microliters: float) -> str:
    liters = microliters / UL_PER_L
    return f"{gallons(liters):.2f} gal ({liters:.2f} L)"


def _runs_out(takes: Mapping[date, float], held_ul: int) -> date | None:
    """The first day by which more is taken than is on hand."""
    taken = 0.0
    for day, amount in sorted(takes.items()):
        taken += amount
        if taken > held_ul + LEAST_SHORT_UL:
            return day
    return None
