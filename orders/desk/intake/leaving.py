"""What of a file is not read: columns that its matches leave aside, and layers beside the one that was chosen."""

from typing import Any

from orders.sites.geofiles.looking import Found
from orders.sites.geofiles.mapping import mapping_from_document
from orders.sites.geofiles.matching import Unused, columns_unused, document_of
from orders.sites.geofiles.resolving import resolve
from orders.sites.models import SurveyFile
from orders.sites.survey_file_selectors import layer_states, survey_file_is_kept


def columns_left(row: SurveyFile) -> Unused:
    """By the matches that were kept, however they are written."""
    found = Found.of(row.found)
    fitted = document_of(resolve(mapping_from_document(row.mapping or {}), found.fields))
    return columns_unused(found, fitted["columns"])


def layers_told(row: SurveyFile) -> dict[str, Any]:
    """The layers of a file with what became of each; which of them are left; and whether the file is kept for those."""
    layers = layer_states(row)
    left = [layer for layer in layers if layer.is_left]
    return {"layers": layers, "layers_left": left, "is_kept": not left or survey_file_is_kept(row)}
