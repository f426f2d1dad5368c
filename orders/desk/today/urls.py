"""Addresses of these pages."""

from django.urls import URLPattern, path

from orders.desk.today import search, start, watch

urlpatterns: list[URLPattern] = [
    path("", start.start_page, name="signpost"),
    path("search/", search.search_page, name="search"),
    path("search/suggested/", search.search_suggested, name="search-suggested"),
    path("watch/", watch.watch_page, name="watch"),
    path("watch/out/", watch.watch_out, name="watch-out"),
    path("watch/<slug:section>.csv", watch.watch_file, name="watch-file"),
]
