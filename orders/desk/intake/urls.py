"""Addresses of these pages."""

from django.urls import URLPattern, path

from orders.desk.intake import exporting, files, handed, looking

urlpatterns: list[URLPattern] = [
    path("surveys/", handed.handed_page, name="survey-files"),
    path("surveys/new/", files.file_new, name="survey-file-new"),
    path("surveys/export/", exporting.export_page, name="survey-export"),
    path("surveys/export/file/", exporting.export_file, name="survey-export-file"),
    path("surveys/mappings/", handed.mappings_page, name="survey-mappings"),
    path("surveys/mappings/<uuid:mapping_id>.json", handed.mapping_file, name="survey-mapping-file"),
    path("surveys/mappings/<uuid:mapping_id>/remove/", handed.mapping_removed, name="survey-mapping-remove"),
    path("surveys/files/<uuid:file_id>/", files.file_match, name="survey-file"),
    path("surveys/files/<uuid:file_id>/mapping.json", files.file_mapping, name="survey-file-mapping"),
    path("surveys/files/<uuid:file_id>/replace/", files.file_replace, name="survey-file-replace"),
    path("surveys/files/<uuid:file_id>/layer/", files.file_layer, name="survey-file-layer"),
    path("surveys/files/<uuid:file_id>/try/", files.file_try, name="survey-file-try"),
    path("surveys/files/<uuid:file_id>/look/", looking.file_look, name="survey-file-look"),
    path("surveys/files/<uuid:file_id>/shapes/", looking.file_shapes, name="survey-file-shapes"),
    path("surveys/files/<uuid:file_id>/findings.csv", looking.file_findings, name="survey-file-findings"),
    path("surveys/files/<uuid:file_id>/take/", files.file_take, name="survey-file-take"),
    path("surveys/files/<uuid:file_id>/drop/", files.file_drop, name="survey-file-drop"),
    path("surveys/<uuid:import_id>/", handed.import_page, name="survey-import"),
    path("surveys/<uuid:import_id>/findings.csv", handed.import_findings, name="survey-import-findings"),
    path("surveys/<uuid:import_id>/undo/", handed.import_undone, name="survey-import-undo"),
]
