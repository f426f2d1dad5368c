"""What of a file is not read: columns that its matches leave aside, and layers beside the one that was chosen."""

from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.matching import Unused, columns_unused, document_of
from orders.sites.geofiles.resolving import resolve
from orders.sites.models import SurveyFile


def columns_left(row: SurveyFile) -> Unused:
    """By the matches that were kept, however they are written."""
    found = Found.of(row.found)
    fitted = document_of(resolve(mapping_from_document(row.mapping or {}), found.fields))
    return columns_unused(found, fitted["columns"])


def layers_left(row: SurveyFile) -> tuple[tuple[str, int], ...]:
    """With how many rows each has."""
    return Found.of(row.found).layers_left
