"""The usual cautions of the work, from the codes that the briefing speaks of. Common practice; none is complete."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext as _

from orders.desk.papers import Part


def hazard_parts(codes: Sequence[str]) -> Iterator[Part]:
    told = _words()
    lines = [told[code] for code in codes if code in told]
    decides = _("The label, local rules and a licensed person decide. This sheet does not.")
    yield Part(_("Hazards, to speak of at the briefing"), lines=[*lines, decides])


def _words() -> dict[str, str]:
    return {
        "heat": _("Heat: water, shade and rest by the hour. Confusion in heat is an emergency."),
        "cold": _("Cold: dry layers, and breaks out of the wind. Shivering that stops is an emergency."),
        "saws": _("Saws: trained people with eye, ear, head, hand and leg protection. Nobody saws alone."),
        "herbicide": _("Herbicide: read the whole label before mixing. Wear what it asks for. Keep others out."),
        "slope": _("Steep ground: nobody works straight below another. Plan the footing first."),
        "vines": _("Vines in trees: look up before each cut. Do not pull vines down from a crown."),
        "water": _("Water near by: keep spray, rinse water and fuel away from it."),
        "ticks": _("Ticks: long sleeves, treated clothing, and a check of the whole body in the evening."),
        "poison-ivy": _("Poison ivy: know its leaves and its bare stems. Wash skin and tools after work."),
    }
