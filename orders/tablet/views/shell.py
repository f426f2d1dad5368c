"""The shell of the tablet's app: its page, its files, its service worker and its manifest. No login and no data: what a
crew may see comes through the synchronization, to a tablet that was enrolled."""

import json
from typing import Any

from csp.decorators import csp_update
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.shortcuts import render
from django.utils import translation
from django.utils.cache import patch_cache_control, patch_vary_headers
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from orders.tablet.icons import GROUND, SIZES, icon_png
from orders.tablet.shell_files import shell

YEAR_S = 31_536_000
PAPER = "#f7f4ea"


def language_of(request: HttpRequest) -> str:
    """The language of the tablet's own pages: asked for, or the browser's. The desk's pages never look at this."""
    asked = request.GET.get("lang", "")
    return asked if asked in dict(settings.LANGUAGES) else translation.get_language_from_request(request)


# Photos and held documents are blobs.
POLICY = {"img-src": ["blob:"], "frame-src": ["'self'", "blob:"], "worker-src": ["'self'"]}


@require_safe
@gzip_page
def page(request: HttpRequest) -> HttpResponseBase:
    with translation.override(language_of(request)):
        response = render(request, "tablet/shell.html", {"shell": shell(), "name": settings.PROGRAM_NAME})
    patch_cache_control(response, no_cache=True)
    patch_vary_headers(response, ["Accept-Language"])
    return csp_update(POLICY)(lambda _: response)(request)


@require_safe
def file(request: HttpRequest, version: str, name: str) -> HttpResponse:
    """One file of the version that is in force; another version is not to be had, so that none is ever mixed."""
    held = shell()
    if version != held.version or name not in held.files:
        raise Http404
    found = held.files[name]
    zipped = "gzip" in request.headers.get("Accept-Encoding", "")
    response = HttpResponse(found.gzipped if zipped else found.content, content_type=found.content_type)
    if zipped:
        response["Content-Encoding"] = "gzip"
    patch_vary_headers(response, ["Accept-Encoding"])
    patch_cache_control(response, public=True, max_age=YEAR_S, immutable=True)
    return response


@require_safe
@gzip_page
def worker(request: HttpRequest) -> HttpResponse:
    held = shell()
    known = f"const VERSION = {json.dumps(held.version)};\nconst FILES = {json.dumps(held.addresses, indent=1)};\n"
    response = HttpResponse(known + held.worker, content_type="text/javascript; charset=utf-8")
    patch_cache_control(response, no_cache=True)
    return response


@require_safe
def manifest(request: HttpRequest) -> JsonResponse:
    language = language_of(request)
    with translation.override(language):
        described = translation.gettext("Crew work with no signal: today's orders, and what was done.")
    icons: list[dict[str, Any]] = [
        {"src": f"/tablet/icon-{size}.png", "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}
        for size in SIZES[1:]
        for purpose in ("any", "maskable")
    ]
    told = {
        "id": "/tablet/",
        "name": settings.PROGRAM_NAME,
        "short_name": settings.PROGRAM_NAME,
        "description": described,
        "lang": language,
        "start_url": "/tablet/",
        "scope": "/tablet/",
        "display": "standalone",
        "orientation": "any",
        "background_color": PAPER,
        "theme_color": GROUND,
        "icons": icons,
    }
    return JsonResponse(told, content_type="application/manifest+json")


@require_safe
def icon(request: HttpRequest, size: int) -> HttpResponse:
    if size not in SIZES:
        raise Http404
    response = HttpResponse(icon_png(size), content_type="image/png")
    patch_cache_control(response, public=True, max_age=86_400)
    return response
