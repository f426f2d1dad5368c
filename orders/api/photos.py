"""Pictures from the field: what each shows, and how much of it has come."""

from typing import Any

from django.db.models import QuerySet
from django.http import HttpResponse
from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.filters import AnyOf, Filters, OfId, OfWord
from orders.api.operations import plain
from orders.api.paging import ListEndpoint
from orders.api.shapes import Row, UserRef
from orders.workorders.field_facts import photo_get, photos_of
from orders.workorders.models import Photo
from orders.workorders.photo_files import PICTURE_TYPES, photo_content


class PhotoOut(Row):
    order = serializers.IntegerField(source="order.number", default=None, allow_null=True, help_text="Its number.")
    about = serializers.CharField()
    about_id = serializers.UUIDField(allow_null=True)
    subject = serializers.ChoiceField(Photo.SUBJECTS)
    caption = serializers.CharField()
    taken_at = serializers.DateTimeField()
    received_at = serializers.DateTimeField()
    by = UserRef(allow_null=True)
    lon = serializers.FloatField(allow_null=True, help_text="Only where the crew asked to keep it.")
    lat = serializers.FloatField(allow_null=True)
    content_type = serializers.CharField()
    size_bytes = serializers.IntegerField()
    received_bytes = serializers.IntegerField()
    sha256 = serializers.CharField()
    state = serializers.ChoiceField(Photo.STATES)


class PhotoFilter(Filters):
    order = OfId(field_name="order__public_id")
    about = OfWord()
    about_id = OfId(field_name="about_id")
    subject = AnyOf(words=Photo.SUBJECTS)
    state = AnyOf(words=Photo.STATES)


class Photos(ListEndpoint):
    endpoint = "photos"
    row = PhotoOut
    filters = PhotoFilter
    sorts = {"taken_at": "taken_at"}
    usual_sort = "-taken_at"

    def rows(self) -> QuerySet[Photo]:
        """Pictures; a crew lead's are those of own crews' orders and own ones."""
        return photos_of(self.actor, on=self.today)


class PhotoFile(Endpoint):
    endpoint = "photo-file"

    @plain(status=200, gives=PICTURE_TYPES)
    def get(self, request: Any, photo_id: Any) -> HttpResponse:
        """The picture as the tablet sent it, once it has come whole."""
        photo = photo_get(self.actor, photo_id, on=self.today)
        reply = HttpResponse(photo_content(photo), content_type=photo.content_type)
        reply.headers["X-Content-Type-Options"] = "nosniff"
        return reply
