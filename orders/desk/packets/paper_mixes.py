"""Mix cards on paper: each mix, and what goes into each tank load in which order."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from estimating.units import LITRES_PER_US_GALLON
from orders.desk.papers import Part


def mix_parts(mixes: Sequence[Mapping[str, Any]], language: str) -> Iterator[Part]:
    for mix in mixes:
        for load in _told_apart(mix["loads"]):
            yield _load(mix, load, language)


def _told_apart(loads: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """Loads of one size are mixed alike: the first of each size."""
    seen: dict[float, Mapping[str, Any]] = {}
    for load in loads:
        seen.setdefault(round(load["volume_l"], 3), load)
    return list(seen.values())


def _load(mix: Mapping[str, Any], load: Mapping[str, Any], language: str) -> Part:
    alike = [other["number"] for other in mix["loads"] if round(other["volume_l"], 3) == round(load["volume_l"], 3)]
    named = str(alike[0]) if len(alike) == 1 else f"{alike[0]}–{alike[-1]}"
    gallons = f"{load['volume_l'] / LITRES_PER_US_GALLON:.2f}"
    heading = _("Mix card: %(mix)s, load %(loads)s of %(count)d, %(gallons)s gal (%(liters)s L)") % {
        "mix": mix["name"],
        "loads": named,
        "count": len(mix["loads"]),
        "gallons": gallons,
        "liters": f"{load['volume_l']:.2f}",
    }
    return Part(
        heading,
        columns=(_("Product"), _("What it is"), _("Into each load")),
        rows=[(row["name"], _role(row["part"]), row["shown"]) for row in load["rows"]],
        lines=load["order_of_mixing"][language],
        caution=" ".join(load["cautions"][language]),
    )


def _role(part: str) -> str:
    words = {"product": _("product"), "adjuvant": _("adjuvant"), "dye": _("dye"), "carrier": _("carrier")}
    return words.get(part, part)
