"""Whom the pages open to that the guides link: those of the page of the head that holds them, but for a few."""

from django.urls import reverse

from orders.common.models.user import FINANCE
from orders.desk.guide.parts import Link
from orders.desk.navigation import DESK, ENTRIES, EVERY_ROLE, GROUND, OFFICE, SAFETY

# Pages that open to other roles than the page of the head above them. A test asks each page.
OTHERWISE = {
    "day-sheets": EVERY_ROLE,
    "equipment-hours": DESK | {FINANCE},
    "estimates-make": DESK,
    "patch-new": DESK,
    "season-new": DESK,
    "setup-permits": GROUND,
    "setup-prices": OFFICE,
    "setup-product-new": SAFETY,
    "survey-file-new": DESK,
}


def opens_to(link: Link) -> frozenset[str]:
    if link.name in OTHERWISE:
        return OTHERWISE[link.name]
    path = "/seasons/" if link.of_season else reverse(link.name)
    here = max(ENTRIES, key=lambda entry: entry.held(path))
    return here.roles if here.held(path) else EVERY_ROLE


def roles_said(roles: frozenset[str]) -> str:
    return " or ".join(sorted(role.replace("_", " ") for role in roles))
