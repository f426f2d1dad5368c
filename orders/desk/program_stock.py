"""Products, mixes, prices, stock, equipment and funds of a program's documents."""

from pathlib import Path
from typing import Any

from orders.common.errors import Invalid
from orders.common.stamp import Stamp
from orders.costs import services as costs
from orders.desk.documents import (
    Entry,
    Misread,
    Rows,
    day,
    exact,
    file_bytes,
    flag,
    number,
    numbers,
    text,
    texts,
    whole,
)
from orders.desk.subjects import Subject
from orders.supplies import services as supplies
from orders.supplies.documents import document_add
from orders.supplies.labels import CapFacts, LabelFacts, PartFacts, UseFacts, WeatherFacts

FILE, DOCUMENTS = "supplies.json", "documents"


def _product(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return supplies.product_add(
        stamp=stamp,
        code=entry.get("code", text),
        name=entry.get("name", text),
        registration_number=entry.may("registration_number", text, ""),
        is_herbicide=entry.may("is_herbicide", flag, True),
        label=_label(entry),
    )


def _label(entry: Entry) -> LabelFacts:
    return LabelFacts(
        label_version=entry.may("label_version", text, ""),
        label_reference=entry.may("label_reference", text, ""),
        reviewed_on=entry.may("reviewed_on", day, None),
        reviewed_by=entry.may("reviewed_by", text, ""),
        formulation=entry.may("formulation", text, ""),
        signal_word=entry.may("signal_word", text, ""),
        states=entry.may("states", texts, ()),
        uses=tuple(_use(part) for part in entry.parts("uses")),
        soil_active=entry.may("soil_active", flag, False),
        aquatic=entry.may("aquatic", flag, False),
        no_annual_cap=entry.may("no_annual_cap", texts, ()),
        least_water_distance_m=entry.may("least_water_distance_m", number, 0.0),
        weather=tuple(_weather(part) for part in entry.parts("weather")),
        rain_free_hours=entry.may("rain_free_hours", number, None),
        entry_rule=entry.may("entry_rule", text, ""),
        restricted_entry_hours=entry.may("restricted_entry_hours", whole, None),
        protective_equipment=entry.may("protective_equipment", text, ""),
        cautions=entry.may("cautions", text, ""),
        storage_note=entry.may("storage_note", text, ""),
        ingredients=entry.may("ingredients", numbers, {}),
        caps=tuple(_cap(part) for part in entry.parts("caps")),
    )


def _use(part: Entry) -> UseFacts:
    use = UseFacts(
        method=part.get("method", text),
        max_percent_vv=part.may("max_percent_vv", number, None),
        max_l_per_ha=part.may("max_l_per_ha", number, None),
        least_days_between=part.may("least_days_between", whole, None),
        most_uses_a_year=part.may("most_uses_a_year", whole, None),
        reference=part.may("reference", text, ""),
    )
    part.done()
    return use


def _weather(part: Entry) -> WeatherFacts:
    limit = WeatherFacts(
        measure=part.get("measure", text),
        low=part.may("low", number, None),
        high=part.may("high", number, None),
        kind=part.get("kind", text),
        reference=part.get("reference", text),
    )
    part.done()
    return limit


def _cap(part: Entry) -> CapFacts:
    cap = CapFacts(
        ingredient=part.get("ingredient", text),
        kg_ae_per_ha=part.get("kg_ae_per_ha", number),
        period=part.get("period", text),
        area_basis=part.get("area_basis", text),
        year_basis=part.get("year_basis", text),
        kind=part.get("kind", text),
        reference=part.get("reference", text),
        method=part.may("method", text, ""),
    )
    part.done()
    return cap


def _mix(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return supplies.mix_add(
        stamp=stamp,
        code=entry.get("code", text),
        name=entry.get("name", text),
        tank_l=entry.get("tank_l", number),
        area_basis=entry.get("area_basis", text),
        carrier_l_per_ha=entry.may("carrier_l_per_ha", number, None),
        stem_dose_ml_per_cm=entry.may("stem_dose_ml_per_cm", number, None),
        parts=[_mix_part(part, rows) for part in entry.parts("parts")],
    )


def _mix_part(part: Entry, rows: Rows) -> PartFacts:
    facts = PartFacts(
        product=part.get("product", rows.one("products")),
        part=part.get("part", text),
        percent_vv=part.may("percent_vv", number, None),
        rate_l_per_ha=part.may("rate_l_per_ha", number, None),
    )
    part.done()
    return facts


def _price(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return supplies.price_set(
        stamp=stamp,
        kind=entry.get("kind", text),
        code=entry.get("code", text),
        from_day=entry.get("from_day", day),
        price_e4=entry.get("price_e4", whole),
        minimum_e4=entry.may("minimum_e4", whole, None),
        source=entry.get("source", text),
    )


def _lot(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return supplies.lot_receive(
        stamp=stamp,
        product=entry.get("product", rows.one("products")),
        lot_number=entry.get("lot_number", text),
        amount=entry.get("amount", exact),
        unit=entry.get("unit", text),
        price_e4=entry.get("price_e4", whole),
        received_on=entry.get("received_on", day),
    )


def _fund(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return costs.fund_add(
        stamp=stamp,
        code=entry.get("code", text),
        name=entry.get("name", text),
        budget_cents=entry.may("budget_cents", whole, None),
        is_suspense=entry.may("is_suspense", flag, False),
    )


def _award(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    return costs.award_add(
        stamp=stamp,
        fund=entry.get("fund", rows.one("funds")),
        code=entry.get("code", text),
        name=entry.get("name", text),
        first_day=entry.get("first_day", day),
        last_day=entry.get("last_day", day),
        ceiling_cents=entry.get("ceiling_cents", whole),
    )


def documents_load(folder: Path, content: dict[str, Any], rows: Rows, stamp: Stamp) -> int:
    """Labels and safety data sheets, each a file beside the document; returns how many."""
    listed = content.get(DOCUMENTS, [])
    for number_of, values in enumerate(listed, start=1):
        entry = Entry(FILE, DOCUMENTS, number_of, values)
        name = entry.get("file", text)
        try:
            document_add(
                product=entry.get("product", rows.one("products")),
                kind=entry.get("kind", text),
                language=entry.may("language", text, "en"),
                file_name=name,
                data=file_bytes(folder, FILE, f"{DOCUMENTS}.file", name),
                stamp=stamp,
            )
        except Misread:
            raise
        except Invalid as refusal:
            raise entry.located(refusal) from refusal
        entry.done()
    return len(listed)


def _equipment(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    return supplies.equipment_add(
        stamp=stamp,
        code=entry.get("code", text),
        name=entry.get("name", text),
        count=entry.get("count", whole),
        notes=entry.may("notes", text, ""),
    )


STOCK = (
    Subject("supplies.json", "products", "code", _product),
    Subject("supplies.json", "mixes", "code", _mix),
    Subject("supplies.json", "prices", "", _price),
    Subject("supplies.json", "lots", "", _lot),
    Subject("supplies.json", "equipment", "code", _equipment),
    Subject("funds.json", "funds", "code", _fund),
    Subject("funds.json", "awards", "code", _award),
)
