"""Addresses under /tablet/: the app's shell, and what it sends and fetches."""

from typing import Any

from django.urls import URLPattern, path

from orders.tablet import photos, sync, work
from orders.tablet.views import shell


def at(address: str, view: Any) -> URLPattern:
    """An endpoint that the app calls; its name is that of its row in the table of permissions."""
    pattern: URLPattern = path(f"sync/{address}", view.as_view(), name=view.endpoint)
    return pattern


urlpatterns = [
    path("", shell.page, name="tablet"),
    path("app/<slug:version>/<path:name>", shell.file, name="tablet-file"),
    path("sw.js", shell.worker, name="tablet-worker"),
    path("manifest.webmanifest", shell.manifest, name="tablet-manifest"),
    path("icon-<int:size>.png", shell.icon, name="tablet-icon"),
    at("enroll", sync.Enroll),
    at("commands", sync.Commands),
    at("photos/<uuid:photo_id>", photos.PhotoBytes),
    at("work", work.Work),
    at("documents/<str:sha256>", work.WorkDocument),
]
