"""Addresses of the map."""

from django.urls import URLPattern, path

from orders.desk.ground import map_acts, map_data, map_page

urlpatterns: list[URLPattern] = [
    path("map/", map_page.map_page, name="map"),
    path("map/patches.json", map_data.map_patches, name="map-data"),
    path("map/outlines.json", map_data.map_outlines, name="map-outlines-data"),
    path("map/sites.json", map_data.map_sites, name="map-sites"),
    path("map/card/", map_data.map_card, name="map-card"),
    path("map/marks/", map_acts.map_marks, name="map-marks"),
    path("map/act/", map_acts.map_act, name="map-act"),
    path("map/undo/<uuid:edit_id>/", map_acts.map_undo, name="map-undo"),
]
