"""A picture's bytes, for whoever may see it."""

from orders.common.errors import NotFound
from orders.workorders.models import Photo
from orders.workorders.photos import photo_path

PICTURE_TYPES = ("image/jpeg", "image/png", "image/webp")  # nothing that a browser would run


def photo_content(photo: Photo) -> bytes:
    """As the tablet sent them, once they have come whole."""
    path = photo_path(photo)
    if photo.state != "whole" or photo.content_type not in PICTURE_TYPES or not path.exists():
        raise NotFound("This picture has not come whole.")
    return path.read_bytes()
