"""Every write of this stage but documents and permits, which stand beside it."""

from orders.supplies.services.goods import PRICE_UNITS, equipment_add, equipment_edit, price_set
from orders.supplies.services.mixes import mix_add, mix_edit
from orders.supplies.services.products import product_add, product_edit, product_review
from orders.supplies.services.stock import lot_receive, stock_move
from orders.supplies.services.use import mix_activate, mix_deactivate, product_activate, product_deactivate

__all__ = [
    "PRICE_UNITS",
    "equipment_add",
    "equipment_edit",
    "lot_receive",
    "mix_activate",
    "mix_add",
    "mix_deactivate",
    "mix_edit",
    "price_set",
    "product_activate",
    "product_add",
    "product_deactivate",
    "product_edit",
    "product_review",
    "stock_move",
]
