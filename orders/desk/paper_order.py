"""The work order as a paper: what an applicator without a certificate carries, and what a crew needs on paper."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _

from orders.crews.models import Person, Qualification
from orders.crews.selectors import crew_people
from orders.desk.label_words import temperature_words, wind_words
from orders.desk.paper_map import paper_map
from orders.desk.papers import Paper, Part, spoken
from orders.desk.templatetags.units import area
from orders.estimates.selectors import methods
from orders.planning.models import Prescription
from orders.sites.models import Site
from orders.supplies.models import Product
from orders.workorders.label_cards import label_shown
from orders.workorders.models import WorkOrder
from orders.workorders.records.rules import Rules
from orders.workorders.records.words import day_words
from orders.workorders.selectors import order_prescriptions
from orders.workorders.who_may import CERTIFIED, May, Use, may_apply, may_mix


def order_paper(order: WorkOrder, language: str | None) -> Paper:
    with spoken(language) as known:
        asked = list(order_prescriptions(order).select_related("estimate__survey", "estimate__mix", "patch__site"))
        card, profile = label_shown(order), Rules.read().of(order.site.jurisdiction.code, order.first_day)
        there = {person.pk for person in crew_people(order.crew, order.first_day)}
        use = Use(order.site, order.first_day, profile, there)
        carried = [_("Whoever applies without a certificate of their own carries this order.")]
        return Paper(
            title=_("Work order %(number)d") % {"number": order.number},
            subtitle=f"{order.site.name}, {days_words(order)}",
            language=known,
            parts=[
                Part(
                    _("Order"), facts=order_facts(order), lines=carried if profile and profile.must_carry_order else []
                ),
                *people_parts(order, use, card),
                Part(
                    _("Work"), columns=(_("Patch"), _("Method"), _("Area"), _("Mix")), rows=list(map(work_line, asked))
                ),
                Part(_("Instructions"), lines=[order.instructions] if order.instructions else []),
                *label_parts(order, card),
                Part(_("In an emergency"), facts=emergency_facts(order.site)),
            ],
            drawing=paper_map(order.site.boundary, [(row.patch.code, row.estimate.survey.geometry) for row in asked]),
            signatures=[_("Applicator, name and signature"), _("Date")],
        )


def days_words(order: WorkOrder) -> str:
    first, last = day_words(order.first_day), day_words(order.last_day)
    return first if first == last else f"{first} – {last}"


def order_facts(order: WorkOrder) -> list[tuple[str, str]]:
    found = [
        (_("Requested by"), settings.PROGRAM_NAME),
        (_("Site"), f"{order.site.name} ({order.site.code}), {order.site.jurisdiction.name}"),
        (_("Days"), days_words(order)),
        (_("Crew"), order.crew.name),
        (_("Way in"), order.site.access_notes),
    ]
    return [(name, words) for name, words in found if words]


def people_parts(order: WorkOrder, use: Use, card: Mapping[str, Any]) -> Iterator[Part]:
    if not card["products"]:
        return
    people = crew_people(order.crew, order.first_day)
    products = list(Product.objects.filter(code__in=[row["code"] for row in card["products"]]))
    held = [(person, _license(person, use)) for person in people]
    certified = [(person, row) for person, row in held if row and row.kind.code == CERTIFIED]
    columns = (_("Name"), _("License"), _("May mix"), _("May apply"))
    yield Part(
        _("Certified applicators"),
        facts=[(person.name, _number(row)) for person, row in certified],
        caution="" if certified else _("Nobody on this crew holds a certificate there on that day."),
    )
    rows = [
        (person.name, _number(row), _may(may_mix(person, use)), _may(may_apply(person, use, products)))
        for person, row in held
    ]
    yield Part(_("The crew"), columns=columns, rows=rows)


def _license(person: Person, use: Use) -> Qualification | None:
    held = person.qualifications.filter(first_day__lte=use.day, last_day__gte=use.day, kind__is_license=True)
    here = held.filter(jurisdiction=use.site.jurisdiction).select_related("kind").order_by("kind__code", "id")
    return here.first()


def _number(row: Qualification | None) -> str:
    if row is None:
        return _("none")
    until = _("to %(day)s") % {"day": day_words(row.last_day)}
    return " ".join(filter(None, [row.number, row.category, until]))


def _may(may: May) -> str:
    words = {"certified": _("certified"), "supervised": _("under supervision"), "permit": _("with a permit")}
    yes = _("yes")
    return f"{yes}, {words[may.by]}" if may.allowed else _("no")


def work_line(asked: Prescription) -> tuple[str, str, str, str]:
    estimate = asked.estimate
    mix = estimate.mix.name if estimate.mix and estimate.products_ul else "–"
    patch = f"{asked.patch.code} {asked.patch.name}".strip()
    return patch, asked.method.name, area(estimate.treated_area_m2), mix


def label_parts(order: WorkOrder, card: Mapping[str, Any]) -> Iterator[Part]:
    used = card["products"]
    if not used:
        return
    yield Part(_("The label"), caution=_("The label on the container governs. Read it before mixing."))
    columns = (_("Product"), _("Registration number"), _("Signal word"), _("At most"))
    names = dict(methods().values_list("code", "name"))
    rows = [(row["name"], row["registration_number"], row["signal_word"], _most(row, names)) for row in used]
    yield Part(_("Products"), columns=columns, rows=rows)
    yield Part(_("Wear"), lines=_once(row["protective_equipment"] for row in used))
    yield Part(_("Cautions"), lines=_once(row["cautions"] for row in used))
    yield Part(_("Weather limits"), lines=[line for row in used for line in _weather(row)])
    yield Part(_("Entry afterwards"), lines=_entry(order.site, card))


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(word for word in words if word))


def _most(row: Mapping[str, Any], names: Mapping[str, str]) -> str:
    """By method, as the label gives it."""
    found = []
    for use in row["uses"]:
        percent = f"{use['max_percent_vv']:g}%" if use["max_percent_vv"] is not None else ""
        rate = f"{use['max_l_per_ha']:g} L/ha" if use["max_l_per_ha"] is not None else ""
        told = ", ".join(filter(None, [percent, rate])) or _("no figure on record")
        found.append(f"{names.get(use['method'], use['method'])}: {told}")
    return "; ".join(found)


def _weather(row: Mapping[str, Any]) -> Iterator[str]:
    for limit in row["weather"]:
        is_wind = limit["measure"] == "wind_m_s"
        told = wind_words if is_wind else temperature_words
        edges = [(_("at least %s"), limit["low"]), (_("at most %s"), limit["high"])]
        figure = ", ".join(words % told(edge) for words, edge in edges if edge is not None)
        what = _("wind") if is_wind else _("air temperature")
        yield f"{row['name']}: {what} {figure}. {_whose(limit['kind'])}."


def _whose(kind: str) -> str:
    named = {"label-mandatory": _("Label, mandatory"), "label-advisory": _("Label, advice")}
    return named.get(kind) or _("Program policy")


def _entry(site: Site, card: Mapping[str, Any]) -> list[str]:
    hours = card["restricted_entry_hours"]
    if site.worker_protection_rules:
        shown = _("Keep out for %(hours)d hours after the application ends.") % {"hours": hours} if hours else ""
        return [shown or _("No interval is entered: see the label.")]
    return _once(row["entry_rule"] for row in card["products"]) or [_("See the label.")]


def emergency_facts(site: Site) -> list[tuple[str, str]]:
    place = ""
    if site.meeting_lon is not None and site.meeting_lat is not None:
        place = f"{site.meeting_lat:.5f}, {site.meeting_lon:.5f}"
    found = [
        (_("Meet the ambulance at"), place),
        (_("How it comes in"), site.emergency_access),
        (_("Nearest medical help"), site.nearest_medical_help),
        (_("Phone"), site.medical_phone),
        (_("Address"), site.medical_address),
        (_("What works there"), site.radio_or_phone),
    ]
    return [(name, words) for name, words in found if words] or [(_("Emergency plan"), _("none is entered"))]
