"""The package put together: of the orders only those that the tablet does not hold as they are now."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from django.conf import settings

from orders.carried.chemicals import batches_open, lots_held, products_shown
from orders.carried.crews import crews_shown
from orders.carried.orders import orders_shown
from orders.carried.scope import Scope, orders_carried
from orders.carried.sites import sites_shown
from orders.common.stamp import Stamp
from orders.estimates.models import Method
from orders.field.models import Device, FieldPolicy
from orders.field.selectors.policy import field_policy
from orders.sites.models import GrowthForm, Species
from orders.workorders.models import TIME_CODES

PAYLOAD_VERSION = 1
PHOTO_MAX_PX = 2048


def work_package(*, device: Device, known: Mapping[str, str], stamp: Stamp) -> dict[str, Any]:
    """`known`: the orders that the tablet holds, each with its hash."""
    scope = Scope.of(device, stamp.local_date(settings.PROGRAM_TIME_ZONE))
    crews, policy = scope.crews, field_policy()
    carried = orders_carried(scope, crews)
    orders = orders_shown(carried)
    batches = batches_open(crews, scope.today)
    codes = _product_codes(orders, batches)
    lots = lots_held(codes)
    for order in orders:
        own = {product["code"] for product in order["label"]["products"]}
        order["lots"] = [lot for lot in lots if lot["product"] in own]
        order["hash"] = hash_of(order)
    current = {order["id"] for order in orders}
    return {
        "payload_version": PAYLOAD_VERSION,
        "server_time": stamp.at.isoformat(),
        "today": scope.today.isoformat(),
        "program_name": settings.PROGRAM_NAME,
        "people": scope.people(),
        "policy": _policy(policy),
        "crews": crews_shown(scope.today, crews, policy),
        "sites": sites_shown(list({order.site_id: order.site for order in carried}.values()), stamp),
        "orders": [order for order in orders if known.get(order["id"]) != order["hash"]],
        "gone": sorted(set(known) - current),
        "order_ids": [order["id"] for order in orders],
        "products": products_shown(codes),
        "lots": lots,
        "open_batches": batches,
        **_words(),
    }


def hash_of(order: Mapping[str, Any]) -> str:
    """Of all that is told of the order, in this version's shape."""
    text = json.dumps([PAYLOAD_VERSION, order], sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def _product_codes(orders: list[dict[str, Any]], batches: list[dict[str, Any]]) -> set[str]:
    of_orders = {product["code"] for order in orders for product in order["label"]["products"]}
    return of_orders | {part["product"] for batch in batches for part in batch["parts"]}


def _policy(policy: FieldPolicy) -> dict[str, Any]:
    return {
        "lone_saw_work": policy.lone_saw_work,
        "lone_herbicide_work": policy.lone_herbicide_work,
        "least_age": policy.least_age,
        "split_rule": policy.split_rule,
        "units": "us",
        "tile_url": settings.MAP_TILE_URL,
        "photo_max_px": PHOTO_MAX_PX,
    }


def _words() -> dict[str, Any]:
    """Lists that the app chooses from."""
    species = Species.objects.order_by("common_name", "code")
    return {
        "species": list(species.values("code", "common_name", "scientific_name")),
        "growth_forms": list(GrowthForm.objects.order_by("code").values("code", "name")),
        "methods": list(Method.objects.order_by("code").values("code", "name")),
        "time_codes": [code for code, _ in TIME_CODES],
    }
