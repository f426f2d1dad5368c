"""The packet of an order: all that a crew needs on paper, made of the same values that its tablet carries."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from orders.carried.crews import crews_shown
from orders.carried.orders import orders_shown
from orders.carried.sites import sites_shown
from orders.common.stamp import Stamp
from orders.crews.selectors import crew_people
from orders.desk.packets.paper_closing import closing_parts
from orders.desk.packets.paper_emergency import emergency_part
from orders.desk.packets.paper_hazards import hazard_parts
from orders.desk.packets.paper_mixes import mix_parts
from orders.desk.packets.paper_people import crew_part, people_there
from orders.desk.paper_map import paper_map
from orders.desk.paper_order import days_words, label_parts, order_facts, people_parts
from orders.desk.papers import Paper, Part, spoken
from orders.desk.templatetags.units import area
from orders.field.selectors.policy import field_policy
from orders.sites.models import Site
from orders.workorders.label_cards import label_shown
from orders.workorders.models import OrderEdition, WorkOrder
from orders.workorders.printing import edition_changes
from orders.workorders.records.rules import Rules
from orders.workorders.records.words import day_words
from orders.workorders.who_may import Use


@dataclass(frozen=True)
class Carried:
    """An order with what its tablet would carry of it."""

    order: WorkOrder
    told: Mapping[str, Any]
    site: Mapping[str, Any]
    crew: Mapping[str, Any]
    card: Mapping[str, Any]

    @classmethod
    def of(cls, order: WorkOrder, stamp: Stamp) -> "Carried":
        today = stamp.local_date(order.site.time_zone)
        return cls(
            order=order,
            told=orders_shown([order])[0],
            site=sites_shown([order.site], stamp)[0],
            crew=crews_shown(today, [order.crew], field_policy())[0],
            card=label_shown(order),
        )


def packet_paper(
    order: WorkOrder, language: str | None, stamp: Stamp, edition: OrderEdition | None = None, before: Any = None
) -> Paper:
    """`edition` is what is printed as, `before` the facts of the edition that the crew may still hold."""
    with spoken(language) as known:
        carried = Carried.of(order, stamp)
        title = _("Work order %(number)d") % {"number": order.number}
        return Paper(
            title=title,
            subtitle=f"{order.site.name}, {order.crew.name}, {days_words(order)}",
            language=known,
            parts=list(_parts(carried, edition, before, known)),
            drawing=_drawing(carried),
            foot=_foot(title, edition),
        )


def _foot(title: str, edition: OrderEdition | None) -> str:
    words = _("edition %(number)d") % {"number": edition.number} if edition else _("look, not for the crew")
    return f"{title}, {words}"


def _parts(carried: Carried, edition: OrderEdition | None, before: Any, language: str) -> Iterator[Part]:
    order, card = carried.order, carried.card
    yield _changed(edition, before)
    yield Part(_("Order"), facts=[*order_facts(order), *_drive(order.site)])
    yield _days(carried)
    yield from _work(carried)
    yield Part(_("Instructions"), lines=[order.instructions] if order.instructions else [])
    yield _bring(carried)
    yield from hazard_parts(carried.told["hazards"])
    yield from label_parts(order, card)
    yield from mix_parts(carried.told["mixes"], language)
    yield crew_part(carried.crew, order)
    yield from people_parts(order, _use(order), card)
    yield from _checklist(carried.site["checklist"])
    yield emergency_part(order.site)
    yield from closing_parts(carried.told, people_there(carried.crew, order), carried.site["record"])


def _use(order: WorkOrder) -> Use:
    there = {person.pk for person in crew_people(order.crew, order.first_day)}
    return Use(order.site, order.first_day, Rules.read().of(order.site.jurisdiction.code, order.first_day), there)


def _changed(edition: OrderEdition | None, before: Any) -> Part:
    """What a crew that holds an older edition must know first."""
    if edition is None or before is None:
        return Part(_("Changed since the last edition"))
    told = _("This is edition %(number)d. It stands in place of all before it; destroy those.")
    lines = edition_changes(before, edition.facts)
    return Part(
        _("Changed since the last edition"), lines=lines, caution=told % {"number": edition.number} if lines else ""
    )


def _drive(site: Site) -> list[tuple[str, str]]:
    miles = f"{site.drive_miles.normalize():f}"
    told = _("%(minutes)d minutes, %(miles)s miles, one way from the shop")
    return [(_("Drive"), told % {"minutes": site.drive_minutes, "miles": miles})]


def _days(carried: Carried) -> Part:
    codes = {row["prescription"]: row["patch_code"] for row in carried.told["work"]}
    rows = []
    for visit in carried.told["visits"]:
        there = ", ".join(codes.get(part["prescription"], "") for part in visit["prescriptions"])
        state = _("called off") if visit["state"] == "not_done" else ""
        rows.append((day_words(date.fromisoformat(visit["day"])), there, _range(visit["hours"]), state))
    columns = (_("Day"), _("Patches"), _("Person-hours, likely (low to high)"), _("State"))
    return Part(_("Days"), columns=columns, rows=rows, shares=(0.2, 0.4, 0.25, 0.15))


def _range(hours: Mapping[str, float]) -> str:
    return f"{hours['likely']:.1f} ({hours['low']:.1f} – {hours['high']:.1f})"


def _work(carried: Carried) -> Iterator[Part]:
    """Patch by patch; what grows there, how much of it, and each step with its hours."""
    columns = (_("Patch"), _("What grows there"), _("Steps, with person-hours"), _("Aim"))
    rows = [_work_row(row) for row in carried.told["work"]]
    yield Part(_("What to do"), columns=columns, rows=rows, shares=(0.2, 0.27, 0.33, 0.2))


def _work_row(row: Mapping[str, Any]) -> tuple[str, str, str, str]:
    patch = "\n".join(filter(None, [f"{row['patch_code']} {row['patch_name']}".strip(), row["method"]["name"]]))
    steps = "\n".join(f"{number}. {step['name']}: {step['hours']:.1f}" for number, step in enumerate(row["steps"], 1))
    return patch, "\n".join(_grows(row)), steps, "\n".join(_aim(row))


def _grows(row: Mapping[str, Any]) -> Iterator[str]:
    yield ", ".join(row["species"])
    yield area(row["infested_area_m2"])
    if row["stems"] is not None:
        yield _("%(count)s stems") % {"count": f"{row['stems']:,}"}
    if row["slope_deg"] is not None:
        yield _("slope %(degrees)d°") % {"degrees": round(row["slope_deg"])}


def _aim(row: Mapping[str, Any]) -> Iterator[str]:
    yield _("at most %(percent)d%% cover") % {"percent": round(100 * row["target_cover"])}
    if row["seed_due_on"]:
        yield _("before it fruits: by %(day)s") % {"day": day_words(date.fromisoformat(row["seed_due_on"]))}
    if row["share"] < 0.999:
        yield _("%(percent)d%% of it on this order") % {"percent": round(100 * row["share"])}


def _bring(carried: Carried) -> Part:
    tools = [f"{row['count']} × {row['name']}" for row in carried.told["bring"]]
    gear = _("Always (common practice): %(gear)s.") % {"gear": ", ".join(_gear())}
    wear = carried.told["protective_equipment"]
    return Part(_("Bring"), lines=[*tools, *wear, gear])


def _gear() -> Sequence[str]:
    return [
        _("first-aid kit"),
        _("water"),
        _("gloves"),
        _("eye protection"),
        _("boots with a firm sole"),
        _("phone or radio, charged"),
    ]


def _checklist(rows: Sequence[Mapping[str, Any]]) -> Iterator[Part]:
    if not rows:
        return
    stops = [row["question"] for row in rows if row["stops_work"] or row["open"]]
    told = _("Nothing is done before this is settled: %(questions)s")
    columns = (_("Question"), _("Answer"), _("Holds until"))
    yield Part(
        _("Site checklist"),
        columns=columns,
        rows=[(row["question"], row["answer"] or row["why"], _until(row["valid_until"])) for row in rows],
        shares=(0.4, 0.42, 0.18),
        caution=told % {"questions": "; ".join(stops)} if stops else "",
    )


def _until(day: str | None) -> str:
    return day_words(date.fromisoformat(day)) if day else "–"


def _drawing(carried: Carried) -> Any:
    patches = [(row["patch_code"], row["geometry"]) for row in carried.told["work"]]
    return paper_map(carried.site["boundary"], patches)
