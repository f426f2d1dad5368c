"""Reads of the photos that the office keeps of patches."""

from uuid import UUID

from django.db.models import QuerySet

from orders.common.errors import NotFound
from orders.sites.models import Patch, PatchPhoto


def photos_all() -> QuerySet[PatchPhoto]:
    """All of them, those taken down too, the newest first."""
    rows = PatchPhoto.objects.select_related("patch__site", "by").defer("patch__site__boundary")
    return rows.order_by("-taken_on", "-id")


def patch_photos(patch: Patch, *, down: bool = False) -> QuerySet[PatchPhoto]:
    return photos_all().filter(patch=patch, removed_at__isnull=not down)


def patch_photo_get(photo_id: UUID) -> PatchPhoto:
    found = photos_all().filter(public_id=photo_id).first()
    if found is None:
        raise NotFound("There is no such photo.")
    return found
