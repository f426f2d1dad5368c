"""The words of a notice: plain text, the same in the list and in the mail."""

from collections.abc import Iterator, Sequence

from orders.reminders.models import LATE, Deadline, Notice, ReminderStep
from orders.reminders.seeding import day_text

IN_TIME = "Cut or pull it by that day, so that no fruit ripens. If fruit shows before, bag it and take it off the site."
FRUIT_SEEN = "Cut it anyway and bag the fruit. Take the bags off the site, and clean boots and tools before you leave."
WHAT_TO_DO = {
    "window": "Do the work within the window, or plan it again for the next one.",
    "record": (
        "Close the order with what was applied. Where the day's record is already on paper, acknowledge this and keep "
        "the paper with the order."
    ),
    "license": "Renew it, and have the new last day entered. The licensing office says what it asks for.",
    "label": "Have a licensed person read the label in force against its entry, and enter the day of the review.",
    "stock": "Order more, count again what is on hand, or plan less of it.",
    "close": "State what was done and close the order; what is left becomes a prescription again.",
}
SAFETY = (
    "Before work: check the site's checklist and closures. Where herbicide is used, the label is the law, and local "
    "rules and a licensed applicator decide."
)
RULES_DECIDE = "The rule of the state and the applicator's license decide, not this reminder."
LABEL_DECIDES = "The label is the law. Local rules and a licensed applicator decide."
CAUTION = {
    "seed": SAFETY,
    "window": SAFETY,
    "record": RULES_DECIDE,
    "license": RULES_DECIDE,
    "label": LABEL_DECIDES,
    "stock": LABEL_DECIDES,
}


def notice_words(deadline: Deadline, step: ReminderStep) -> tuple[str, str]:
    """Subject (one line, whatever the names hold) and body."""
    lines = [step.text, "", *_facts(deadline)]
    if caution := CAUTION.get(deadline.kind):
        lines += ["", caution]
    return " ".join(_subject(deadline).split())[:400], "\n".join(lines)


def _subject(deadline: Deadline) -> str:
    due = day_text(deadline.due_on)
    if deadline.patch and deadline.species:
        patch = deadline.patch
        return f"Cut before fruit by {due}: {deadline.species.common_name}, {patch.site.name}, patch {patch.code}"
    return f"{deadline.get_kind_display()}: {deadline.title}, {due}"


def _facts(deadline: Deadline) -> Iterator[str]:
    if deadline.site:
        yield f"Site: {deadline.site.name} ({deadline.site.code})"
    if patch := deadline.patch:
        yield f"Patch: {patch.code} ({patch.name})" if patch.name else f"Patch: {patch.code}"
    if deadline.species and deadline.growth_form:
        species = deadline.species
        yield f"Species: {species.common_name} ({species.scientific_name}), {deadline.growth_form.code}"
    else:
        yield f"What: {deadline.title}"
    yield f"Due: {day_text(deadline.due_on)}, by the {'site' if deadline.site else 'program'}'s own date"
    yield f"Because: {deadline.because}"
    yield f"What to do: {what_to_do(deadline)}"


def what_to_do(deadline: Deadline) -> str:
    if deadline.kind == "seed":
        return FRUIT_SEEN if deadline.state == LATE else IN_TIME
    return WHAT_TO_DO[deadline.kind]


def digest_words(notices: Sequence[Notice]) -> tuple[str, str]:
    """One mail that names each notice and what it asks for; the whole of each stands in the program's own list."""
    lines = [f"{len(notices)} reminders at once, the soonest first.", ""]
    for notice in sorted(notices, key=lambda one: (one.deadline.due_on, one.pk)):
        lines += [f"- {notice.subject}", f"  {notice.step.text}"]
    lines += ["", "Why each is due, and what to do, stands in your list of reminders.", "", SAFETY]
    return f"{len(notices)} reminders", "\n".join(lines)
