"""Tell a file's format by what is in it; its name only decides where the content leaves a choice."""

import re
from enum import StrEnum

from orders.sites.geofiles.archives import Archive
from orders.sites.geofiles.records import FileRefused, Limits


class Format(StrEnum):
    """The formats we read, by the names that people know."""

    GEOJSON = "GeoJSON"
    GEOPACKAGE = "GeoPackage"
    SHAPEFILE = "zipped Shapefile"
    KML = "KML"
    KMZ = "KMZ"
    GPX = "GPX"
    FLATGEOBUF = "FlatGeobuf"
    CSV = "CSV"


# The library driver that reads each format; a file that another driver claims is refused.
DRIVERS = {
    Format.GEOJSON: "GeoJSON",
    Format.GEOPACKAGE: "GPKG",
    Format.SHAPEFILE: "ESRI Shapefile",
    Format.KML: "LIBKML",
    Format.KMZ: "LIBKML",
    Format.GPX: "GPX",
    Format.FLATGEOBUF: "FlatGeobuf",
}
ALWAYS_WGS84 = frozenset({Format.KML, Format.KMZ, Format.GPX})

ZIP_START = b"PK\x03\x04"
SQLITE_START = b"SQLite format 3\x00"
GEOPACKAGE_ID = slice(68, 70)
FLATGEOBUF_START = b"fgb\x03"
SHP_START = b"\x00\x00\x27\x0a"
OLD_SHEET_START = b"\xd0\xcf\x11\xe0"
SHEET_PARTS = (("xl/workbook", "xml"), ("xl/workbook", "bin"), ("content", "xml"))
SPREADSHEET = (
    "This is a spreadsheet. Save its sheet as CSV, with the location in columns: longitude and latitude, or "
    "well-known text."
)
HEAD_BYTES = 64 * 1024
TABLE_NAMES = (".csv", ".tsv", ".txt")
XML_ROOT = re.compile(rb"<(?:\w+:)?(kml|gpx)[\s>]")
GEOJSON_TYPE = re.compile(
    rb'"type"\s*:\s*"(?:Feature(?:Collection)?|(?:Multi)?(?:Point|LineString|Polygon)|GeometryCollection)"'
)
READ = ", ".join(Format)


def format_of(data: bytes, filename: str, limits: Limits) -> Format:
    """The format of the file, or a refusal that says which ones are read."""
    if not data.strip():
        raise FileRefused("empty_file", "The file is empty.")
    if data.startswith(ZIP_START):
        return _format_in_zip(data, limits)
    found = _binary_format(data) or _text_format(data)
    if found:
        return found
    if filename.casefold().endswith(TABLE_NAMES):
        return Format.CSV
    raise FileRefused("unknown_format", f"The format of this file is not known. These are read: {READ}.")


def _format_in_zip(data: bytes, limits: Limits) -> Format:
    archive = Archive(data, limits)
    if archive.names("shp"):
        return Format.SHAPEFILE
    if archive.names("kml"):
        return Format.KMZ
    if any(archive.find(stem, ending) for stem, ending in SHEET_PARTS):
        raise FileRefused("unknown_format", SPREADSHEET)
    raise FileRefused("unknown_format", "The zip file holds neither a shapefile (.shp) nor a .kml file.")


def _binary_format(data: bytes) -> Format | None:
    if data.startswith(SQLITE_START):
        if data[GEOPACKAGE_ID] != b"GP":
            raise FileRefused("unknown_format", "This is a SQLite database, but not a GeoPackage.")
        return Format.GEOPACKAGE
    if data.startswith(OLD_SHEET_START):
        raise FileRefused("unknown_format", SPREADSHEET)
    if data.startswith(SHP_START):
        raise FileRefused("unknown_format", "A shapefile is several files: zip the .shp, .shx, .dbf and .prj together.")
    return Format.FLATGEOBUF if data.startswith(FLATGEOBUF_START) else None


def _text_format(data: bytes) -> Format | None:
    text = data.removeprefix(b"\xef\xbb\xbf").lstrip()
    if text.startswith(b"<"):
        return _xml_format(text)
    if _is_line_by_line(text):
        raise FileRefused(
            "unreadable", "Every line of this file is a feature by itself. Save it as one collection of features."
        )
    return Format.GEOJSON if text.startswith(b"{") and GEOJSON_TYPE.search(data) else None


def _is_line_by_line(text: bytes) -> bool:
    """Whether one object ends with its line, and another begins on the next."""
    first, _, rest = text.partition(b"\n")
    return first.startswith(b"{") and first.rstrip().endswith(b"}") and rest.lstrip().startswith(b"{")


def _xml_format(text: bytes) -> Format | None:
    """KML or GPX. A document type declaration is refused: it serves neither, and entities may unfold without end."""
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise FileRefused("unreadable", "The file declares an XML document type, which is not taken.")
    root = XML_ROOT.search(text[:HEAD_BYTES])
    return Format(root[1].decode().upper()) if root else None
