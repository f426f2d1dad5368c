"""Every write of this stage."""

from orders.estimates.services.asking import estimates_ask
from orders.estimates.services.estimates import (
    EstimatesComputed,
    estimates_compute,
    estimates_make,
    estimates_store,
    survey_suitability,
)
from orders.estimates.services.methods import (
    FACTS,
    method_activate,
    method_add,
    method_deactivate,
    method_edit,
    method_equipment_set,
    methods_load,
    mix_methods_set,
)
from orders.estimates.services.rate_books import (
    BookLacksMethods,
    rate_book_copy,
    rate_book_discard,
    rate_book_draft,
    rate_book_edit,
    rate_book_put_in_force,
    rate_book_retire,
)
from orders.estimates.services.rates import rate_add, rate_edit, rate_remove, rates_import

__all__ = [
    "FACTS",
    "BookLacksMethods",
    "EstimatesComputed",
    "estimates_ask",
    "estimates_compute",
    "estimates_make",
    "estimates_store",
    "method_activate",
    "method_add",
    "method_deactivate",
    "method_edit",
    "method_equipment_set",
    "methods_load",
    "mix_methods_set",
    "rate_add",
    "rate_book_copy",
    "rate_book_discard",
    "rate_book_draft",
    "rate_book_edit",
    "rate_book_put_in_force",
    "rate_book_retire",
    "rate_edit",
    "rate_remove",
    "rates_import",
    "survey_suitability",
]
