"""Products and mixes taken out of use and put back. A mix in use holds products in use alone."""

from collections.abc import Callable, Sequence

from orders.common.rows import row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.common.use import needed_refuse, needs_refuse
from orders.supplies.models import Mix, Product
from orders.supplies.selectors import mixes_holding, products_out_of_use

MixUsers = Callable[[Mix], Sequence[str]]
_MIX_USERS: list[MixUsers] = []


def mix_users_register(read: MixUsers) -> None:
    """A later stage names what is done with a mix; called from its AppConfig.ready()."""
    _MIX_USERS[:] = [read]


@writing()
def product_deactivate(*, product: Product, expected: int, stamp: Stamp) -> Product:
    """Offer it for nothing new. Labels, stock, prices and orders that name it stay; no order with it is issued."""
    product_needed_refuse(product)
    return row_edit(product, stamp=stamp, verb="product_deactivate", expected=expected, values={"is_active": False})


@writing()
def product_activate(*, product: Product, expected: int, stamp: Stamp) -> Product:
    return row_edit(product, stamp=stamp, verb="product_activate", expected=expected, values={"is_active": True})


@writing()
def mix_deactivate(*, mix: Mix, expected: int, stamp: Stamp) -> Mix:
    """Offer it for nothing new. Estimates and orders keep the mix that they were made with; none with it is issued."""
    mix_needed_refuse(mix)
    return row_edit(mix, stamp=stamp, verb="mix_deactivate", expected=expected, values={"is_active": False})


@writing()
def mix_activate(*, mix: Mix, expected: int, stamp: Stamp) -> Mix:
    gone = products_out_of_use(mix.parts.values_list("product", flat=True))
    needs_refuse(f"{mix.name} holds products that are no longer in use.", "parts", gone.values())
    return row_edit(mix, stamp=stamp, verb="mix_activate", expected=expected, values={"is_active": True})


def product_needed_refuse(product: Product) -> None:
    named = [mix.name for mix in mixes_holding(product)]
    needed_refuse(f"{product.name} stays in use: it goes into mixes that are in use.", "mixes", named)


def mix_needed_refuse(mix: Mix) -> None:
    named = [name.capitalize() for read in _MIX_USERS for name in read(mix)]
    needed_refuse(f"{mix.name} stays in use: methods that are in use are done with it.", "methods", named)
