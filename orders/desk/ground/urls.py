"""Addresses of these pages."""

from django.urls import URLPattern

from orders.desk.ground.hand_urls import urlpatterns as hand
from orders.desk.ground.map_urls import urlpatterns as maps

urlpatterns: list[URLPattern] = [
    *maps,
    *hand,
]
