"""Sheets of surveys as somebody types them in, for tests."""

import json
from typing import Any

from orders.sites.models import Patch, Survey
from orders.sites.selectors import survey_newest
from orders.sites.services import Sheet
from tests.build.base import square

GROUND = {"species": "EUFO", "growth_form": "ground cover", "cover_percent": "40"}


def sheet(*components: dict[str, Any], outline: Any = None, **facts: Any) -> Sheet:
    told = {"observed_on": "2026-11-20", "observer": "A. Surveyor", **facts}
    drawn = square() if outline is None else outline
    text = drawn if isinstance(drawn, str) else json.dumps(drawn)
    return Sheet(facts=told, components=components or (GROUND,), outline=text)


def newest(patch: Patch) -> Survey:
    """The survey that counts, which is there."""
    found = survey_newest(patch)
    assert found is not None
    return found
