"""Addresses of these pages."""

from django.urls import URLPattern

from orders.desk.setup import people_urls, places_urls

urlpatterns: list[URLPattern] = [
    *people_urls.urlpatterns,
    *places_urls.urlpatterns,
]
