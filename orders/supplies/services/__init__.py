"""Every write of this stage but documents and permits, which stand beside it."""

from orders.supplies.services.goods import PRICE_UNITS, equipment_add, equipment_edit, price_set
from orders.supplies.services.mixes import mix_add, mix_edit
from orders.supplies.services.products import product_add, product_edit, product_review
from orders.supplies.services.stock import lot_receive, stock_move

__all__ = [
    "PRICE_UNITS",
    "equipment_add",
    "equipment_edit",
    "lot_receive",
    "mix_add",
    "mix_edit",
    "price_set",
    "product_add",
    "product_edit",
    "product_review",
    "stock_move",
]
