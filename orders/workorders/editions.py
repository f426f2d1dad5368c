"""What a crew must know of its order, as plain values: two printed orders that say the same have the same hash."""

import hashlib
import json
from typing import Any

from orders.estimates.models import Estimate
from orders.planning.models import VisitShare
from orders.workorders.label_cards import label_shown
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_visits, overrides

VERSION = 1


def order_edition_facts(order: WorkOrder) -> dict[str, Any]:
    """Days, crew, work, mixes, instructions and cautions; nothing of money, and no time at which they were read."""
    card = {name: value for name, value in label_shown(order).items() if name != "at"}
    standing = order_visits(order).exclude(state="dropped")
    return {
        "version": VERSION,
        "order": order.number,
        "state": "void" if order.state == "void" else "",
        "site": order.site.code,
        "crew": order.crew.name,
        "instructions": order.instructions,
        "visits": [
            {
                "day": visit.day.isoformat(),
                "off": visit.not_done_reason if visit.state == "not_done" else "",
                "work": [_work(share) for share in visit.shares.all()],
            }
            for visit in standing
        ],
        "label": card,
        "let_pass": [[row.limit_kind, row.limit, row.reason] for row in overrides(order)],
    }


def edition_sha256(facts: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(facts, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def _work(share: VisitShare) -> dict[str, Any]:
    asked = share.prescription
    return {
        "patch": asked.patch.code,
        "method": asked.method.name,
        "share": round(share.share * asked.share_left, 4),
        "hours": round(share.planned_hours, 2),
        "mix": _mix(asked.estimate),
    }


def _mix(estimate: Estimate) -> list[list[Any]]:
    """Products by strength, as the estimate froze them."""
    mix = estimate.inputs.get("mix") if estimate.mix_id else None
    return [[part["product"], part["percent_vv"]] for part in mix["parts"]] if mix else []
