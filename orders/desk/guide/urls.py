"""Addresses of these pages."""

from django.urls import URLPattern, path

from orders.desk.guide import views

urlpatterns: list[URLPattern] = [
    path("help/", views.help_page, name="help"),
    path("help/<slug:code>/", views.guide_page, name="help-guide"),
]
