"""What a tablet says of a picture, before its bytes come."""

import re

from django.conf import settings
from rest_framework import serializers

from orders.bodies.base import Body
from orders.bodies.fields import Choice, Id, Moment, Text, Whole
from orders.bodies.optional import MAY, MAY_SAY, latitude, longitude
from orders.workorders.models import Photo
from orders.workorders.photo_files import PICTURE_TYPES

ABOUT = ("order", "prescription", "sign", "incident", "detection")
SHA256 = re.compile(r"[0-9a-f]{64}")


class PhotoIn(Body):
    id = Id()
    about = Choice(ABOUT, **MAY)
    about_id = Id(**MAY)
    subject = Choice(Photo.SUBJECTS)
    caption = Text(max_length=200, **MAY_SAY)
    taken_at = Moment()
    content_type = Choice(PICTURE_TYPES)
    size_bytes = Whole(min_value=1, max_value=settings.PHOTO_MAX_BYTES)
    sha256 = Text(max_length=64)
    lon = longitude()
    lat = latitude()

    def validate_sha256(self, value: str) -> str:
        if not SHA256.fullmatch(value):
            raise serializers.ValidationError("must be 64 digits of lower-case hexadecimal")
        return value
