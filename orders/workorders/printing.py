"""Editions of an order: what was printed for its crew, and what has changed since."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from orders.common.changes import change_record
from orders.common.errors import WrongState
from orders.common.models import Change
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.editions import edition_sha256, order_edition_facts
from orders.workorders.models import OrderEdition, OrderVisit, WorkOrder
from orders.workorders.records.words import day_words

# Steps of an order that change nothing of what its crew must know
NO_CHANGE = (
    "order_issue",
    "order_start",
    "order_close",
    "order_amend",
    "order_fund",
    "order_split_again",
    "visit_settle",
)


@dataclass(frozen=True)
class EditionState:
    """The newest edition of an order, and what has changed since; without one nothing was printed yet."""

    newest: OrderEdition | None
    changes: Sequence[str]

    @property
    def next_number(self) -> int:
        return 1 if self.newest is None else self.newest.number + (1 if self.changes else 0)


@writing()
def order_edition_print(*, order: WorkOrder, stamp: Stamp) -> OrderEdition:
    """A new edition where the order says something else than the newest one; else that one, printed once more."""
    if order.state in {"draft", "void"}:
        raise WrongState(f"{order} is {order.get_state_display().lower()}: only issued orders are printed for a crew.")
    facts = order_edition_facts(order)
    sha256 = edition_sha256(facts)
    newest = order.editions.order_by("-number").first()
    if newest is not None and newest.sha256 == sha256:
        return newest
    made = OrderEdition.objects.create(
        order=order,
        number=1 if newest is None else newest.number + 1,
        printed_at=stamp.at,
        by=stamp.by,
        sha256=sha256,
        facts=facts,
    )
    after = {"order": order.number, "edition": made.number, "sha256": sha256}
    change_record(stamp=stamp, verb="order_edition_print", entity=made, after=after)
    return made


def edition_state(order: WorkOrder) -> EditionState:
    newest = order.editions.order_by("-number").first()
    if newest is None:
        return EditionState(None, ())
    return EditionState(newest, edition_changes(newest.facts, order_edition_facts(order)))


@dataclass(frozen=True)
class Printed:
    """For lists: the newest edition, and whether anything was written to the order or its visits since."""

    edition: OrderEdition
    is_touched: bool


def editions_newest(orders: Collection[WorkOrder]) -> dict[int, Printed]:
    """By the order's key, in three queries; what exactly changed is `edition_state`'s to tell of one order."""
    rows = OrderEdition.objects.filter(order__in=orders).order_by("order_id", "number").defer("facts")
    newest = {row.order_id: row for row in rows}
    parts = OrderVisit.objects.filter(order__in=newest).values_list("order_id", "order__public_id", "visit__public_id")
    order_of = {public_id: order for order, *ids in parts for public_id in ids}
    earliest = min((row.printed_at for row in newest.values()), default=None)
    written = Change.objects.filter(entity__in=["workorder", "visit"], entity_id__in=order_of)
    written = written.exclude(verb__in=NO_CHANGE).filter(at__gt=earliest) if earliest else written.none()
    touched = {
        order_of[key] for key, at in written.values_list("entity_id", "at") if at > newest[order_of[key]].printed_at
    }
    return {key: Printed(row, key in touched) for key, row in newest.items()}


def edition_changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[str]:
    """In words, what is not as it was printed: empty where both say the same."""
    if edition_sha256(dict(before)) == edition_sha256(dict(after)):
        return []
    return [*_changes(before, after)] or [_("Something else of the order changed.")]


def _changes(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    if before["crew"] != after["crew"]:
        yield _("Crew: %(old)s becomes %(new)s.") % {"old": before["crew"], "new": after["crew"]}
    if before["state"] != after["state"]:
        yield _("The order is void: nothing is done on it.") if after["state"] else _("The order stands again.")
    if before["instructions"] != after["instructions"]:
        yield _("The instructions changed.")
    yield from _visits(before["visits"], after["visits"])
    if before["label"] != after["label"]:
        yield _("What the labels say changed.")
    if before["let_pass"] != after["let_pass"]:
        yield _("A limit was let pass, or no longer is.")


def _visits(before: Sequence[Mapping[str, Any]], after: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """By day: days that fell away, that came, that were called off, and other work on a day that stays."""
    old, new = {visit["day"]: visit for visit in before}, {visit["day"]: visit for visit in after}
    for day in sorted(set(old) - set(new)):
        yield _("%(day)s is no longer a day of it.") % {"day": _day(day)}
    for day in sorted(set(new) - set(old)):
        yield _("%(day)s is a new day of it.") % {"day": _day(day)}
    for day in sorted(set(old) & set(new)):
        if old[day]["off"] != new[day]["off"]:
            yield _("%(day)s was called off: %(why)s") % {"day": _day(day), "why": new[day]["off"] or "-"}
        elif old[day]["work"] != new[day]["work"]:
            yield _("The work of %(day)s changed.") % {"day": _day(day)}


def _day(day: str) -> str:
    return day_words(date.fromisoformat(day))
