"""What a page that draws on the ground hands to parts/draw.html: where to look, and what lies around."""

import json
from typing import Any

from django.conf import settings

from orders.sites.models import Patch, Site
from orders.sites.selectors import surveys_current

MOST_NEIGHBORS = 400


def ground_of(site: Site, besides: Patch | None = None) -> dict[str, Any]:
    """The site's boundary and the outlines of its patches, but for the one that is drawn."""
    rows = surveys_current().filter(patch__site=site).exclude(patch=besides)
    outlines = rows.order_by("pk").values_list("geometry", flat=True)[:MOST_NEIGHBORS]
    return {
        "box": [site.min_lon, site.min_lat, site.max_lon, site.max_lat],
        "around": features([site.boundary, *outlines]),
        "tiles": settings.MAP_TILE_URL,
    }


def features(geometries: list[Any]) -> dict[str, Any]:
    made = [{"type": "Feature", "properties": {}, "geometry": geometry} for geometry in geometries]
    return {"type": "FeatureCollection", "features": made}


def as_text(geometry: Any) -> str:
    return json.dumps(geometry, separators=(",", ":"))
