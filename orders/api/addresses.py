"""How an address of the API is written down."""

from typing import Any

from django.urls import URLPattern, path


def at(route: str, view: Any) -> URLPattern:
    pattern: URLPattern = path(route, view.as_view(), name=view.endpoint)
    return pattern
