"""The emergency card: a page of its own, to be torn off and kept in a pocket."""

from django.utils.translation import gettext as _

from orders.desk.paper_order import emergency_facts
from orders.desk.papers import Part
from orders.sites.models import Site


def emergency_part(site: Site) -> Part:
    facts = [(_("Site"), f"{site.name} ({site.code})"), *emergency_facts(site), *_minutes(site)]
    return Part(
        _("Emergency card"),
        facts=facts,
        lines=[
            _("Call the emergency number first, then the office. Say where you are by the figures above."),
            _("Stay with the person. Send somebody to meet the ambulance."),
            _("Herbicide in the eyes or on the skin: rinse with water at once, and take the label along."),
        ],
        own_page=True,
    )


def _minutes(site: Site) -> list[tuple[str, str]]:
    """The meeting place again in degrees and minutes, as many radios and pilots read it."""
    if site.meeting_lon is None or site.meeting_lat is None:
        return []
    return [
        (
            _("In degrees and minutes"),
            f"{degrees_minutes(site.meeting_lat, 'NS')}, {degrees_minutes(site.meeting_lon, 'EW')}",
        )
    ]


def degrees_minutes(value: float, letters: str) -> str:
    """38.2 -> 38° 12.000′ N"""
    thousandths = round(abs(value) * 60_000)
    degrees, rest = divmod(thousandths, 60_000)
    return f"{degrees}° {rest / 1000:06.3f}′ {letters[value < 0]}"
