"""Photos that the office keeps of patches."""

from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import Filters, OfId, OnDay, YesNo
from orders.api.operations import plain, writes
from orders.api.paging import ListEndpoint
from orders.api.parsers import FileFormParser
from orders.api.shapes import PatchRef, Row, UserRef
from orders.bodies.base import Body
from orders.bodies.fields import Day, FormFlag, Id, Text
from orders.common.pictures import TYPES, picture_redrawn
from orders.sites.models import PatchPhoto
from orders.sites.patch_photos import patch_photo_get, photos_all
from orders.sites.selectors import patch_get
from orders.sites.services import patch_photo_add, patch_photo_remove, patch_photo_restore
from orders.sites.services.photos import CAPTION_CHARACTERS, SMALL_TYPE, patch_photo_bytes


class PatchPhotoOut(Row):
    patch = PatchRef()
    taken_on = serializers.DateField()
    caption = serializers.CharField()
    content_type = serializers.CharField()
    size_bytes = serializers.IntegerField()
    sha256 = serializers.CharField()
    width_px = serializers.IntegerField()
    height_px = serializers.IntegerField()
    by = UserRef(allow_null=True)
    at = serializers.DateTimeField()
    removed_at = serializers.DateTimeField(allow_null=True)


class PatchPhotoIn(Body):
    patch = Id()
    file = serializers.FileField(max_length=300, help_text="JPEG, PNG or WebP, 12 MB at most.")
    taken_on = Day(required=False, help_text="Left out: the day that the camera wrote, else today.")
    caption = Text(max_length=CAPTION_CHARACTERS, allow_blank=True, required=False)
    keep_place = FormFlag(default=False, help_text="Else nothing of the camera's data stays.")


class PhotoFormParser(FileFormParser):
    most_setting = "PHOTO_MAX_BYTES"


class PatchPhotoFilter(Filters):
    patch = OfId(field_name="patch__public_id")
    site = OfId(field_name="patch__site__public_id")
    taken_from = OnDay(field_name="taken_on", lookup_expr="gte")
    taken_to = OnDay(field_name="taken_on", lookup_expr="lte")
    removed = YesNo(field_name="removed_at", lookup_expr="isnull", exclude=True)


class PatchPhotos(ListEndpoint):
    endpoint = "patch-photos"
    parser_classes = (PhotoFormParser,)
    row = PatchPhotoOut
    filters = PatchPhotoFilter
    sorts = {"taken_on": "taken_on"}
    usual_sort = "-taken_on"

    def rows(self) -> QuerySet[PatchPhoto]:
        """Photos of patches, those taken down too."""
        return photos_all()

    @writes(PatchPhotoOut, body=PatchPhotoIn, names_others=True)
    def post(self) -> PatchPhoto:
        """Add a photo. It is drawn anew, so that nothing of the camera's data stays."""
        body, patch, most = self.body, patch_get(self.body["patch"]), settings.PHOTO_MAX_BYTES
        file = body["file"]
        picture = picture_redrawn(
            file.read(most + 1), name=file.name, most_bytes=most, keep_place=body["keep_place"], field="file"
        )
        return patch_photo_add(
            patch=patch,
            picture=picture,
            taken_on=body.get("taken_on"),
            caption=body.get("caption", ""),
            stamp=self.stamp(),
        )


class PatchPhotoRemove(Endpoint):
    endpoint = "patch-photo-remove"

    @writes(PatchPhotoOut, status=200)
    def post(self, photo_id: Any) -> PatchPhoto:
        """Take a photo down; it stays on record."""
        return patch_photo_remove(photo=patch_photo_get(photo_id), stamp=self.stamp())


class PatchPhotoRestore(Endpoint):
    endpoint = "patch-photo-restore"

    @writes(PatchPhotoOut, status=200)
    def post(self, photo_id: Any) -> PatchPhoto:
        """Put back a photo that was taken down."""
        return patch_photo_restore(photo=patch_photo_get(photo_id), stamp=self.stamp())


class PatchPhotoFile(Endpoint):
    endpoint = "patch-photo-file"

    @plain(status=200, gives=tuple(TYPES.values()))
    def get(self, request: Any, photo_id: Any) -> HttpResponse:
        """The picture."""
        photo = patch_photo_get(photo_id)
        return _sent(patch_photo_bytes(photo), photo.content_type)


class PatchPhotoSmall(Endpoint):
    endpoint = "patch-photo-small"

    @plain(status=200, gives=(SMALL_TYPE,))
    def get(self, request: Any, photo_id: Any) -> HttpResponse:
        """Its thumbnail."""
        return _sent(patch_photo_bytes(patch_photo_get(photo_id), small=True), SMALL_TYPE)


def _sent(data: bytes, content_type: str) -> HttpResponse:
    reply = HttpResponse(data, content_type=content_type)
    reply.headers["X-Content-Type-Options"] = "nosniff"
    return reply
