"""Who is on the crew on the days of an order, what each may do and until when, and under whose supervision."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from orders.desk.papers import Part
from orders.workorders.models import WorkOrder
from orders.workorders.records.words import day_words


def people_there(crew: Mapping[str, Any], order: WorkOrder) -> list[Mapping[str, Any]]:
    """Members on any day of the order, leads first."""
    first, last = order.first_day.isoformat(), order.last_day.isoformat()
    return [row for row in crew["members"] if row["first_day"] <= last and (row["last_day"] or last) >= first]


def crew_part(crew: Mapping[str, Any], order: WorkOrder) -> Part:
    rows = [_row(row, order) for row in people_there(crew, order)]
    columns = (_("Name"), _("Qualifications, with their last day"), _("Supervised by"))
    nobody = "" if rows else _("Nobody is on this crew on these days.")
    return Part(_("People"), columns=columns, rows=rows, shares=(0.25, 0.5, 0.25), caution=nobody)


def _row(row: Mapping[str, Any], order: WorkOrder) -> tuple[str, str, str]:
    lead = _("%(name)s, leads the crew") % {"name": row["name"]} if row["is_lead"] else row["name"]
    young = _("too young for saws and herbicide") if row["of_age"] is False else ""
    held = list(_held(row, order))
    supervisors = dict.fromkeys(one["supervised_by_name"] for one in row["qualifications"] if one["supervised_by_name"])
    return "\n".join(filter(None, [lead, young])), "\n".join(held) or "–", ", ".join(supervisors) or "–"


def _held(row: Mapping[str, Any], order: WorkOrder) -> Iterator[str]:
    """Of licenses those of the order's state; what ends before the last day says so."""
    for one in row["qualifications"]:
        if one["jurisdiction"] not in (None, order.site.jurisdiction.code):
            continue
        until = date.fromisoformat(one["last_day"])
        told = " ".join(filter(None, [one["name"], one["number"], one["category"]]))
        ends = _("ends before the last day of this order") if until < order.last_day else ""
        yield ", ".join(filter(None, [told, _("to %(day)s") % {"day": day_words(until)}, ends]))
