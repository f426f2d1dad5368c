"""The usual cautions of a piece of work, by what it is done with and where. Common practice; none is complete."""

from collections.abc import Iterable
from dataclasses import dataclass

from orders.carried.work import STEEP_FROM_DEG
from orders.estimates.models import Estimate

DECIDES = "The label, local rules and a licensed person decide; this page does not."


@dataclass(frozen=True)
class Caution:
    what: str
    text: str


HERBICIDE = Caution(
    "Herbicide",
    "Read the whole label of the product in hand before mixing. Only licensed people, or those whom one supervises as "
    "the state asks, mix and apply. Wear what the label asks for; keep spray and runoff off water, people and roots of "
    "wanted trees; keep others out until the label's entry rule allows them in.",
)
SAWS = Caution(
    "Saws and blades",
    "Trained people only, with eye, ear, head, hand and leg protection. Keep two tree lengths apart, look up for hung "
    "vines and dead limbs before each cut, and never cut vines that hold a broken top. Nobody saws alone.",
)
PULLED_VINES = Caution(
    "Vines in trees",
    "Do not pull vines down from a crown: dead wood comes with them. What grows above the upper cut stays and dies in "
    "place.",
)
STEEP = Caution(
    "Steep ground",
    "Nobody works straight below another. Before starting, plan the footing and a way out; carry tools downhill.",
)
HEAT = Caution(
    "Heat",
    "Water, shade and rest by the hour in hot weather; new and returning people start with short days. Confusion or no "
    "sweat in heat is an emergency: cool the person and call for help.",
)
TICKS = Caution(
    "Ticks, stings and rash plants",
    "Long sleeves, treated clothing and a check of the whole body at the end of the day. Know who carries medicine for "
    "stings. Poison ivy looks like the vines you cut.",
)


def cautions(estimate: Estimate) -> list[Caution]:
    """Those of the method first, then those of the ground and of any day outside."""
    steps = estimate.result.get("steps", [])
    slope = estimate.survey.slope_deg or 0.0
    asked = (
        (estimate.method.uses_herbicide, HERBICIDE),
        (any(step.get("skill") == "sawyer" for step in steps), SAWS),
        ("climbing" in _forms(steps), PULLED_VINES),
        (slope >= STEEP_FROM_DEG, STEEP),
        (True, HEAT),
        (True, TICKS),
    )
    return [caution for holds, caution in asked if holds]


def _forms(steps: Iterable[dict[str, list[dict[str, str]]]]) -> set[str]:
    return {part.get("growth_form", "") for step in steps for part in step.get("parts", [])}
