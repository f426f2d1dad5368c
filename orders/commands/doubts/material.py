"""What a close-out says was used, beside the uses of mixes that are on record: another tablet may know more of them."""

from collections import defaultdict
from decimal import Decimal

from orders.commands.raising import CHEMICALS, Raiser
from orders.supplies.models import Product
from orders.workorders.models import CloseOut
from orders.workorders.records.groups import applications_standing

# Our own figure (invented): less than this share is the rounding of what people read off a jug.
SHARE_OFF = Decimal("0.1")


def material_doubts(raiser: Raiser, close_out: CloseOut) -> None:
    """Stock moves by the close-out, so that a use which it leaves out would never leave the shelf."""
    stated: dict[int, int] = defaultdict(int)
    for use in close_out.material_uses.select_related("lot"):
        stated[use.lot.product_id] += use.amount
    for product, used in _used(close_out):
        key = f"{close_out.public_id}:{product.code}:"
        is_off = abs(used - stated[product.pk]) > used * SHARE_OFF
        raiser.no_more(key, "material_differs", but=f"{key}{used:.0f}" if is_off else "")
        if is_off:
            title = f"{close_out.order}: the close-out and the uses on record differ on {product}"
            data = {"product": product.code, "stated": stated[product.pk], "on_record": int(used)}
            raiser.note(f"{key}{used:.0f}", "material_differs", title, data=data, roles=CHEMICALS)


def _used(close_out: CloseOut) -> list[tuple[Product, Decimal]]:
    """Of each product, what was in the mix that went out on the order."""
    found: dict[Product, Decimal] = defaultdict(Decimal)
    for application in applications_standing().filter(order=close_out.order):
        share = Decimal(application.volume_ul) / application.batch.volume_ul
        for part in application.batch.parts.all():
            found[part.product] += part.amount * share
    return sorted(found.items(), key=lambda pair: pair[0].code)
