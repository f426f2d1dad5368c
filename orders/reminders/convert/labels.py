"""Labels whose last review becomes too old."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from django.db.models import Q

from estimating.labels import GuardPolicy
from orders.common.stamp import Stamp
from orders.reminders.convert.facts import ahead, ids_of, program_zone
from orders.reminders.models import Deadline
from orders.reminders.owed import Key, Owed
from orders.reminders.seeding import day_text
from orders.supplies.models import Product


def labels_to_review(rows: Sequence[Deadline], stamp: Stamp) -> Iterator[Owed]:
    """One for each herbicide in use and its last review, and for the reviews before it that had one."""
    review_days = timedelta(days=GuardPolicy.review_days)
    near = Q(reviewed_on__lte=ahead(stamp) - review_days) | Q(pk__in=ids_of(rows, "product"))
    products = {one.pk: one for one in Product.objects.filter(near, is_herbicide=True).order_by("code")}
    for one in products.values():
        if one.is_active and one.reviewed_on is not None and one.reviewed_on + review_days <= ahead(stamp):
            yield _owed(one, one.reviewed_on + review_days, one.reviewed_on, None)
    for row in rows:
        product = products.get(row.product_id or 0)
        if product and product.reviewed_on and product.reviewed_on.isoformat() > row.period:
            yield _owed(product, row.due_on, date.fromisoformat(row.period), product.reviewed_on)


def _owed(product: Product, due_on: date, reviewed_on: date, again_on: date | None) -> Owed:
    return Owed(
        key=Key("label", str(product.public_id), reviewed_on.isoformat()),
        title=f"Label of {product.name}",
        due_on=due_on,
        because=f"Reviewed on {day_text(reviewed_on)}; a review counts for {GuardPolicy.review_days} days.",
        refs={"product_id": product.pk},
        time_zone=program_zone(),
        done_on=again_on,
    )
