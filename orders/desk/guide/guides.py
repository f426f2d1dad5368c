"""All guides, and which part of which is about a page."""

from collections.abc import Mapping

from django.http import Http404
from django.urls import reverse

from orders.common.models import User
from orders.desk.guide.administrator import ADMINISTRATOR_GUIDE
from orders.desk.guide.coordinator import COORDINATOR_GUIDE
from orders.desk.guide.finance import FINANCE_GUIDE
from orders.desk.guide.lead import LEAD_GUIDE
from orders.desk.guide.parts import Guide
from orders.desk.guide.supervisor import SUPERVISOR_GUIDE
from orders.desk.navigation import ENTRIES

GUIDES = (COORDINATOR_GUIDE, LEAD_GUIDE, FINANCE_GUIDE, SUPERVISOR_GUIDE, ADMINISTRATOR_GUIDE)


def _parts(guide: Guide) -> dict[str, str]:
    """name of an address -> the step that tells of its page; the first where several do."""
    found: dict[str, str] = {}
    for step in guide.steps:
        for name in step.names():
            found.setdefault(name, step.code)
    return found


PARTS: Mapping[str, Mapping[str, str]] = {guide.code: _parts(guide) for guide in GUIDES}


def guide_get(code: str) -> Guide:
    for guide in GUIDES:
        if guide.code == code:
            return guide
    raise Http404("There is no such guide.")


def guides_of(actor: User) -> list[Guide]:
    """The guides of the actor's roles, in the order of the work."""
    return [guide for guide in GUIDES if actor.has_role(guide.role)]


def help_address(actor: User, name: str, path: str) -> str:
    """Where Help leads from a page: the part that is about it in a guide of the reader, else about the page of the head
    that holds it, else the reader's own guide."""
    own = guides_of(actor)
    for asked in (name, _held_by(path)):
        for guide in own:
            if asked in PARTS[guide.code]:
                return f"{reverse('help-guide', args=[guide.code])}#{PARTS[guide.code][asked]}"
    return reverse("help-guide", args=[own[0].code]) if own else reverse("help")


def _held_by(path: str) -> str:
    here = max(ENTRIES, key=lambda entry: entry.held(path))
    return here.name if here.held(path) else ""
