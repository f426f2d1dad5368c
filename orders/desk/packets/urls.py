"""Addresses of these pages."""

from django.urls import URLPattern, path

from orders.desk.packets import pages

urlpatterns: list[URLPattern] = [
    path("orders/<uuid:order_id>/packet/", pages.packet_page, name="packet"),
    path("orders/<uuid:order_id>/packet/packet.pdf", pages.packet_file, name="packet-file"),
    path("orders/<uuid:order_id>/packet/print/", pages.packet_printed, name="packet-print"),
    path("packets/", pages.bundle_page, name="packet-bundle"),
    path("packets/marked/", pages.bundle_marked, name="packet-marked"),
    path("packets/print/", pages.bundle_printed, name="packet-bundle-print"),
]
