"""The form that a file comes in with."""

from django import forms

from orders.sites.models import SurveyFile, SurveyImport

TAKEN = ".geojson,.json,.gpkg,.zip,.kml,.kmz,.gpx,.csv,.tsv,.txt,.fgb"


class FileForm(forms.Form):
    file = forms.FileField(
        label="Survey file",
        max_length=300,
        help_text="GeoPackage, zipped Shapefile, GeoJSON, KML, KMZ, GPX, FlatGeobuf, or CSV with its locations.",
        error_messages={"required": "Choose a file first.", "empty": "The file is empty."},
        widget=forms.ClearableFileInput(attrs={"accept": TAKEN}),
    )


def taken_before(row: SurveyFile) -> SurveyImport | None:
    """An import of the very same bytes, and of the same layer of them, that stands."""
    same = SurveyImport.objects.filter(file_sha256=row.file_sha256, dry_run=False, refused=False, state="done")
    if row.layer:
        same = same.filter(layer=row.layer)
    return same.filter(undone_at__isnull=True).order_by("-id").first()
