"""The close-out on paper, for the day without a tablet: it is typed in at the office from here, line by line."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from orders.desk.papers import Part
from orders.workorders.records.fields import BY_CODE

SPARE_PEOPLE, SPARE_MATERIALS = 2, 2
BLANK = ""


def closing_parts(
    told: Mapping[str, Any], people: Sequence[Mapping[str, Any]], record: Mapping[str, Any] | None
) -> Iterator[Part]:
    yield _hours(people)
    yield _patches(told["work"])
    used = told["label"]["products"]
    if used:
        yield _materials(used)
        yield _weather()
        yield _record(record)
    yield Part(
        _("Confirmed"),
        columns=(_("Name and signature of the crew lead"), _("Day and hour")),
        rows=[(BLANK, BLANK)],
        is_form=True,
        shares=(0.65, 0.35),
    )


def _hours(people: Sequence[Mapping[str, Any]]) -> Part:
    names = [*(row["name"] for row in people), *[BLANK] * SPARE_PEOPLE]
    return Part(
        _("Close-out: hours"),
        columns=(_("Name"), _("Day"), _("Start"), _("End"), _("Breaks, min"), _("Patches, and what was done")),
        rows=[(name, *[BLANK] * 5) for name in names],
        lines=[_("Paid time with drive and breaks as the program pays them. One line a person and day.")],
        is_form=True,
        own_page=True,
        shares=(0.24, 0.12, 0.1, 0.1, 0.1, 0.34),
    )


def _patches(work: Sequence[Mapping[str, Any]]) -> Part:
    return Part(
        _("Close-out: patches"),
        columns=(_("Patch and method"), _("Done, %"), _("Stems cut"), _("Condition, and what should follow")),
        rows=[(f"{row['patch_code']}, {row['method']['name']}", BLANK, BLANK, BLANK) for row in work],
        is_form=True,
        shares=(0.36, 0.12, 0.12, 0.4),
    )


def _materials(used: Sequence[Mapping[str, Any]]) -> Part:
    names = [*(row["name"] for row in used), *[BLANK] * SPARE_MATERIALS]
    return Part(
        _("Close-out: material, product as packaged"),
        columns=(_("Product"), _("Lot"), _("Amount used"), _("Unit"), _("Patches")),
        rows=[(name, *[BLANK] * 4) for name in names],
        is_form=True,
        shares=(0.3, 0.2, 0.15, 0.1, 0.25),
    )


def _weather() -> Part:
    moments = (_("at the start"), _("at the end"))
    return Part(
        _("Weather"),
        columns=(_("When"), _("Hour"), _("Temperature"), _("Humidity"), _("Wind, and where from"), _("Sky")),
        rows=[(moment, *[BLANK] * 5) for moment in moments],
        lines=[_("Outside a limit of the label nobody applies, whatever is written here.")],
        is_form=True,
    )


def _record(record: Mapping[str, Any] | None) -> Part:
    """What the state's rule asks to be on record, each with a line to fill."""
    required = record["required"] if record else []
    rows = [(str(BY_CODE[code].name), BLANK) for code in required if code in BY_CODE]
    days = _("Due %(days)d days after the application ends.") % {"days": record["days"]} if record else ""
    return Part(
        _("Application record, one for each mix, place and day"),
        columns=(_("What is asked for"), BLANK),
        rows=rows,
        lines=[days] if days else [_("No rule is on record for this state: ask the pesticide supervisor.")],
        is_form=True,
        shares=(0.45, 0.55),
    )
