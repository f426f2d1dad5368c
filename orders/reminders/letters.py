"""The words of a notice: plain text, the same in the list and in the mail."""

from orders.reminders.models import LATE, Deadline, ReminderStep
from orders.reminders.seeding import day_text

IN_TIME = "Cut or pull it by that day, so that no fruit ripens. If fruit shows before, bag it and take it off the site."
FRUIT_SEEN = "Cut it anyway and bag the fruit. Take the bags off the site, and clean boots and tools before you leave."
SAFETY = (
    "Before work: check the site's checklist and closures. Where herbicide is used, the label is the law, and local "
    "rules and a licensed applicator decide."
)


def notice_words(deadline: Deadline, step: ReminderStep) -> tuple[str, str]:
    """Subject (one line, whatever the names hold) and body."""
    patch, due = deadline.patch, day_text(deadline.due_on)
    subject = f"Cut before fruit by {due}: {deadline.species.common_name}, {patch.site.name}, patch {patch.code}"
    named = f"{patch.code} ({patch.name})" if patch.name else patch.code
    lines = [
        step.text,
        "",
        f"Site: {patch.site.name} ({patch.site.code})",
        f"Patch: {named}",
        f"Species: {deadline.species.common_name} ({deadline.species.scientific_name}), {deadline.growth_form.code}",
        f"Due: {due}, by the site's own date",
        f"Because: {deadline.because}",
        f"What to do: {FRUIT_SEEN if deadline.state == LATE else IN_TIME}",
        "",
        SAFETY,
    ]
    return " ".join(subject.split()), "\n".join(lines)
