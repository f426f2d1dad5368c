"""Patches split and merged as a whole: what work rests on them is looked at first, and what was only asked for goes."""

from collections.abc import Sequence
from uuid import UUID

from orders.common.errors import FieldError, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.models import Prescription, VisitShare
from orders.planning.services import prescription_drop
from orders.sites.models import Patch
from orders.sites.services.reasons import reason_check
from orders.sites.services.succession import Piece, Succession, patch_merge, patch_split, succession_undo

HELD = "Work stands on this ground. Close or void the order, or take the visit off the plan, and try again."
UNDER_WAY = ("draft", "issued", "underway")


@writing()
def split_patch(*, patch: Patch, pieces: Sequence[Piece], stamp: Stamp) -> Succession:
    """Split a patch that no order and no planned visit holds; what was asked for on it is dropped."""
    _release([patch], "was split", stamp)
    return patch_split(patch=patch, pieces=pieces, stamp=stamp)


@writing()
def merge_patches(*, patches: Sequence[Patch], code: str, name: str = "", stamp: Stamp) -> Succession:
    """The same for several patches that become one."""
    _release(patches, "was merged", stamp)
    return patch_merge(patches=patches, code=code, name=name, stamp=stamp)


@writing()
def undo_succession(*, event: UUID, stamp: Stamp) -> Succession:
    """The patches before stand again. What was asked for on them was dropped, and is asked for anew."""
    return succession_undo(event=event, stamp=stamp)


def work_resting(patches: Sequence[Patch]) -> list[FieldError]:
    """Why the patches may not end yet: orders that are not closed, and visits that a plan has put on a day."""
    shares = VisitShare.objects.filter(prescription__patch__in=list(patches)).exclude(
        visit__state__in=["proposed", "dropped"]
    )
    related = ("visit__order_visit__order", "visit__crew", "visit__site", "prescription__patch__site")
    rows = shares.select_related(*related).defer("visit__site__boundary", "prescription__patch__site__boundary")
    told = dict.fromkeys(why for share in rows.order_by("visit__day", "id") if (why := _why(share)))
    return [FieldError("patches", why, code="work_stands") for why in told]


def _why(share: VisitShare) -> str:
    visit, patch = share.visit, share.prescription.patch
    held = getattr(visit, "order_visit", None)
    if held is not None and held.order.state in UNDER_WAY:
        return f"{held.order} ({held.order.get_state_display().lower()}) holds {patch}."
    if visit.state == "planned":
        return f"A visit to {patch} is planned for {visit.crew} on {visit.day}."
    return ""


def _release(patches: Sequence[Patch], what: str, stamp: Stamp) -> None:
    reason_check(stamp, "Nothing was changed.")
    if standing := work_resting(patches):
        raise WrongState(HELD, standing)
    asked = Prescription.objects.filter(patch__in=list(patches), state__in=["open", "planned"])
    for row in asked.select_related("patch__site", "method", "season").order_by("id"):
        row.refresh_from_db(fields=["state", "version"])  # a follow-up goes with the work that it follows
        if row.state in {"open", "planned"}:
            prescription_drop(prescription=row, stamp=stamp.because(f"{row.patch} {what}: {stamp.reason}"[:200]))
