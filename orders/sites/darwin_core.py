"""Surveys as occurrences in the terms of Darwin Core: one for each species in each growth form on a day.

Terms: Darwin Core (TDWG), https://dwc.tdwg.org/terms/, as the standard's own simple table lists them
(tdwg/dwc, dist/simple_dwc_horizontal.csv); degreeOfEstablishment is from memory. The archive is that of the
standard's text guide, https://dwc.tdwg.org/text/, from memory. Values of establishmentMeans,
degreeOfEstablishment and basisOfRecord are those
of the controlled vocabularies, from memory.
"""

import io
import json
import math
import zipfile
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import shapely
from shapely.geometry.base import BaseGeometry

from orders.sites.geofiles.areas import distance_m, from_geojson, representative_point
from orders.sites.models import Survey, SurveyComponent

NAMESPACE = "http://rs.tdwg.org/dwc/terms/"
DATUM = "EPSG:4326"
CONDITIONS = {"none": "non-reproductive", "flowers": "in bloom", "fruit": "fruit-bearing"}
SCHEMES = {"braun-blanquet": "Braun-Blanquet scale", "daubenmire-1959": "Daubenmire 1959 cover class"}
PROTOCOL = "Patches walked and outlined on the ground; cover of the infested ground judged by eye."
TERMS = (
    "occurrenceID",
    "basisOfRecord",
    "eventID",
    "eventDate",
    "recordedBy",
    "scientificName",
    "vernacularName",
    "occurrenceStatus",
    "organismQuantity",
    "organismQuantityType",
    "sampleSizeValue",
    "sampleSizeUnit",
    "reproductiveCondition",
    "establishmentMeans",
    "degreeOfEstablishment",
    "decimalLatitude",
    "decimalLongitude",
    "geodeticDatum",
    "coordinateUncertaintyInMeters",
    "footprintWKT",
    "footprintSRS",
    "locationID",
    "locality",
    "verbatimLocality",
    "fieldNumber",
    "samplingProtocol",
    "occurrenceRemarks",
    "dynamicProperties",
)


def occurrences(surveys: Iterable[Survey]) -> list[dict[str, str]]:
    """In the order of TERMS; a value that is not known is blank."""
    return [
        {name: facts.get(name, "") for name in TERMS}
        for survey in surveys
        for facts in _of_survey(survey, list(survey.components.all()))
    ]


def _of_survey(survey: Survey, components: Sequence[SurveyComponent]) -> Iterable[dict[str, str]]:
    shape = from_geojson(json.dumps(survey.geometry))
    place = {**_place(survey, shape), "samplingProtocol": PROTOCOL, "occurrenceRemarks": survey.notes}
    event = {
        "basisOfRecord": "HumanObservation",
        "eventID": survey.public_id.urn,
        "eventDate": survey.observed_on.isoformat(),
        "recordedBy": survey.observer,
    }
    for component in components:
        yield {**event, **place, **_plant(component)}


def _place(survey: Survey, shape: BaseGeometry) -> dict[str, str]:
    patch = survey.patch
    east, north = representative_point(shape)
    return {
        "decimalLatitude": f"{north:.7f}",
        "decimalLongitude": f"{east:.7f}",
        "geodeticDatum": DATUM,
        "coordinateUncertaintyInMeters": str(_reach_m(shape, (east, north), survey.gross_area_m2)),
        "footprintWKT": shape.wkt,
        "footprintSRS": DATUM,
        "locationID": patch.public_id.urn,
        "locality": ", ".join(part for part in (patch.site.name, patch.name or f"patch {patch.code}") if part),
        "verbatimLocality": patch.site.code,
        "fieldNumber": patch.code,
    }


def _reach_m(shape: BaseGeometry, middle: tuple[float, float], area_m2: float) -> int:
    """The radius of the circle round the position that holds the whole patch, rounded up; of a point, by its area."""
    if shape.geom_type == "Point":
        return max(1, math.ceil(math.sqrt(area_m2 / math.pi)))
    corners = shapely.get_coordinates(shape)
    return max(1, math.ceil(max(distance_m(middle, (float(east), float(north))) for east, north in corners)))


def _plant(component: SurveyComponent) -> dict[str, str]:
    species = component.species
    more = {"growthForm": component.growth_form.name, "fertile": component.fertile}
    return {
        "occurrenceID": component.public_id.urn,
        "scientificName": species.scientific_name,
        "vernacularName": species.common_name,
        "occurrenceStatus": "present" if component.infested_area_m2 > 0 else "absent",
        **_quantity(component),
        "sampleSizeValue": f"{component.infested_area_m2:.1f}",
        "sampleSizeUnit": "square metre",
        "reproductiveCondition": CONDITIONS.get(component.reproductive_condition, ""),
        # The program's list holds plants that were brought here and that it fights because they spread.
        "establishmentMeans": "introduced",
        "degreeOfEstablishment": "invasive",
        "dynamicProperties": json.dumps(more, ensure_ascii=False),
    }


def _quantity(component: SurveyComponent) -> dict[str, str]:
    """Quantity and its type are a pair: both or neither. A class stays the class that was entered."""
    if not component.cover_as_entered:
        return {}
    if component.cover_is_class:
        kind = SCHEMES.get(component.cover_scheme, f"{component.cover_scheme} cover class")
        return {"organismQuantity": component.cover_as_entered, "organismQuantityType": kind}
    percent = round(component.cover_likely * 100, 6)
    return {"organismQuantity": f"{percent:g}", "organismQuantityType": "percentage cover"}


def archive(table: str, *, program: str, on: date) -> bytes:
    """A Darwin Core Archive: the table, what its columns are, and who says so."""
    packed = io.BytesIO()
    parts = {"occurrence.csv": table, "meta.xml": _meta(), "eml.xml": _eml(program, on)}
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as file:
        for name, text in parts.items():
            member = zipfile.ZipInfo(
                name
            )  # dated 1980 like every such file, so that the same surveys give the same bytes
            member.compress_type = zipfile.ZIP_DEFLATED
            file.writestr(member, text.encode())
    return packed.getvalue()


def _meta() -> str:
    fields = "\n".join(
        f'    <field index="{place}" term={quoteattr(NAMESPACE + term)}/>' for place, term in enumerate(TERMS)
    )
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">
  <core encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\r\\n" fieldsEnclosedBy='"' ignoreHeaderLines="1"
        rowType="{NAMESPACE}Occurrence">
    <files><location>occurrence.csv</location></files>
    <id index="0"/>
{fields}
  </core>
</archive>
"""


def _eml(program: str, on: date) -> str:
    """The least that describes a data set: what it is, whose, and of which day."""
    name: Any = escape(program)
    who = f"<organizationName>{name}</organizationName>"
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" packageId="surveys-{on.isoformat()}" system="local">
  <dataset>
    <title>Surveys of invasive plants, {name}</title>
    <creator>{who}</creator>
    <pubDate>{on.isoformat()}</pubDate>
    <abstract><para>Patches of invasive plants as they were surveyed on the ground.</para></abstract>
    <contact>{who}</contact>
  </dataset>
</eml:eml>
"""
