"""What keeps a draft from being issued, each with the place where it is settled."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.urls import reverse

from estimating.labels import Finding
from orders.common.errors import Refusal
from orders.common.stamp import Stamp
from orders.desk.dispatch.order_acts import OverrideForm
from orders.issuing import issue_obstacles
from orders.workorders.guards import ChecklistOpen, LabelForbids, LicenseMissing, MixMissing, OutOfUse, label_standing
from orders.workorders.models import WorkOrder


@dataclass(frozen=True)
class Obstacle:
    refusal: Refusal
    ways: tuple[tuple[str, str], ...] = ()  # words and address of each link to where it is settled


@dataclass(frozen=True)
class Limit:
    """A limit that a named person may let pass; the form of one that nobody may is None."""

    finding: Finding
    form: OverrideForm | None


def obstacles_shown(order: WorkOrder, stamp: Stamp) -> list[Obstacle]:
    return [_shown(order, refusal) for refusal in issue_obstacles(order=order, stamp=stamp)]


def _shown(order: WorkOrder, refusal: Refusal) -> Obstacle:
    own = reverse("order", args=[order.public_id])
    if isinstance(refusal, ChecklistOpen):
        address = f"{reverse('site-checklist', args=[order.site.public_id])}?order={order.public_id}"
        return Obstacle(refusal, (("Answer the checklist", address),))
    if isinstance(refusal, LicenseMissing):
        people = ("Look at who holds what", reverse("setup-people"))
        return Obstacle(refusal, (("Give it to another crew", f"{own}#act-reassign"), people))
    if isinstance(refusal, MixMissing):
        return Obstacle(refusal, (("Give the method a mix", reverse("setup-methods")),))
    if isinstance(refusal, OutOfUse):
        methods = ("Give the method another mix", reverse("setup-methods"))
        return Obstacle(refusal, (methods, ("Look at the mixes", f"{reverse('setup-mixes')}?shown=all")))
    if isinstance(refusal, LabelForbids):
        return Obstacle(refusal, (("Look at the limits", f"{own}#limits"),))
    if any(error.field == "funding" for error in refusal.errors):
        return Obstacle(refusal, (("Say who pays", f"{own}#act-fund"),))
    return Obstacle(refusal)


def limits_shown(order: WorkOrder, today: date) -> list[Limit]:
    """Each limit once, whatever the number of uses that pass it."""
    return list(_limits(label_standing(order, today=today)))


def _limits(standing: list[Finding]) -> Iterator[Limit]:
    seen = set()
    for finding in standing:
        key = (finding.kind, finding.code)
        if finding.overridable and key in seen:
            continue
        seen.add(key)
        stands = {"limit_kind": str(finding.kind), "limit": finding.code}
        yield Limit(
            finding, OverrideForm(initial=stands, auto_id=f"{finding.code}_%s") if finding.overridable else None
        )
