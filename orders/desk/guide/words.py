"""The words that Fencerow uses in a sense of its own or of the trade, and the keys that pages listen to."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Word:
    word: str
    means: str


@dataclass(frozen=True)
class Keys:
    """What keys do in one place."""

    where: str
    keys: tuple[tuple[str, str], ...]


WORDS = (
    Word(
        "Application record", "What the law asks for: one for each mix, place, day and responsible applicator, signed."
    ),
    Word("Award", "A grant with its own terms: what it may be charged, and when. Money comes from a fund or an award."),
    Word("Close-out", "A crew lead’s statement of what was done. It is never overwritten, only amended."),
    Word("Component", "Part of a survey: a species in one growth form, with its area, cover and stems."),
    Word("Cover", "The share of ground under the leaves of the species within the infested area."),
    Word("Day sheet", "One person’s whole paid day: orders, and time that is no order."),
    Word("Efficacy check", "A look at treated ground, no earlier than symptoms can show: what died, what came back."),
    Word("Flag", "A question from the field that a person settles."),
    Word("Gross area, infested area", "The mapped outline; the part of it where the species grows."),
    Word("Growth form", "Ground cover, climbing, sprawling, shrub or herb. It decides which methods fit."),
    Word("In-kind match", "Volunteer time, valued for a grant."),
    Word(
        "License hours", "Hours that only a certified applicator, or a technician under direct supervision, may work."
    ),
    Word("Limit", "Mandatory or advisory by the label, or the program’s own policy. Nobody lets a mandatory one pass."),
    Word("Low, likely, high", "One order in ten ends below low, half below likely, and nine in ten below high."),
    Word(
        "Method", "A way to treat a patch, such as hand pulling or cut-stem treatment, with steps, rates and a season."
    ),
    Word("Mix batch", "What was mixed once. Mixed is applied, carried over, or disposed of."),
    Word("Patch", "One mapped infestation at a site."),
    Word("Prescription", "The method, time and follow-up chosen for a patch in a season."),
    Word("Qualification", "A license or training: its kind, state, last day, and who supervises."),
    Word("Rate book", "All rates, allowances and spreads of a date. A draft is put in force, then retired."),
    Word(
        "Seed deadline", "The day by which a patch must be cut before it fruits; it is there with or without an order."
    ),
    Word("Site", "A property that is managed, with its gates, closures, checklist and emergency plan."),
    Word("Survey", "A dated observation of a patch by a person. It is never overwritten."),
    Word("Tailgate briefing", "The talk about the day’s hazards at the truck, before work begins."),
    Word("Visit", "One crew on one day on one order."),
    Word("Window", "The days on which a method may be done at a site."),
    Word("Work order", "Patches at one site for one crew: draft, issued, underway, closed; or void, with a reason."),
)

KEYS = (
    Keys(
        "Every page",
        (
            ("Tab", "To the next link, field or button; the first is “Skip to the content”."),
            ("/", "To the search. Arrow keys go through what is found, Escape closes it."),
        ),
    ),
    Keys(
        "The board",
        (
            ("M or Enter", "On a visit’s card: pick it up."),
            ("Arrow keys", "Choose the cell that it goes to; what the move breaks is told."),
            ("Enter", "Put it there."),
            ("Escape", "Let it go; nothing is moved."),
        ),
    ),
    Keys(
        "The map",
        (
            ("Arrow keys", "Move the cross; with Shift farther."),
            ("Enter", "Mark the patch under the cross. After Mark by box: set a corner."),
            ("Space", "Open the patch under the cross."),
            ("+ and −", "Nearer, and farther."),
            ("Home", "Show all."),
        ),
    ),
    Keys(
        "Drawing a patch",
        (
            ("Arrow keys", "Move the chosen corner; with Shift farther."),
            ("Page Up, Page Down", "To the corner before, and the one after."),
            ("Enter", "A new corner, halfway to the next."),
            ("Delete", "Take the corner out."),
        ),
    ),
    Keys(
        "Availability",
        (
            ("Arrow keys", "From day to day and person to person."),
            ("Enter or Space", "Begin and end a mark."),
            ("Escape", "Take the mark off."),
        ),
    ),
)
