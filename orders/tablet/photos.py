"""The bytes of a picture, in parts that go on where the last one ended. Its command comes first."""

from collections.abc import Mapping
from typing import IO, Any
from uuid import UUID

from django.conf import settings
from rest_framework.parsers import BaseParser
from rest_framework.response import Response

from orders.api.operations import plain
from orders.api.parsers import size_check
from orders.common.errors import FieldError, Invalid, NotFound
from orders.field.services.flags import About, flag_raise
from orders.tablet.sync import TabletEndpoint
from orders.workorders.models import Photo
from orders.workorders.photos import WrongOffset, photo_part_add, photo_received

OFFSET = "Upload-Offset"
OFFSET_DIGITS = 12
ASKS = ((OFFSET, {"type": "string", "pattern": f"^[0-9]{{1,{OFFSET_DIGITS}}}$"}, "Where this part begins."),)
TELLS = ((OFFSET, "How many bytes have come."),)


class PartParser(BaseParser):
    """Bytes as they are."""

    media_type = "application/offset+octet-stream"

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:
        size_check(parser_context, settings.PHOTO_PART_MAX_BYTES)
        return bytes(stream.read())


class PhotoBytes(TabletEndpoint):
    endpoint = "tablet-photo"
    parser_classes = (PartParser,)

    @plain(status=204, tells=TELLS)
    def get(self, request: Any, photo_id: UUID) -> Response:
        """How far the bytes have come, in Upload-Offset; a HEAD is enough."""
        photo = self._photo(photo_id)
        return Response(status=204, headers={OFFSET: str(photo_received(photo))})

    @plain(status=204, takes_bytes=True, asks=ASKS, tells=TELLS, more_statuses=(400, 409, 413, 415))
    def patch(self, request: Any, photo_id: UUID) -> Response:
        """The bytes from Upload-Offset on.

        409 with the true offset where they do not follow the last ones, or the whole does not match its checksum.
        """
        photo, offset = self._photo(photo_id), _offset(request)
        data = request.data if isinstance(request.data, bytes) else b""
        try:
            photo = photo_part_add(photo=photo, offset=offset, data=data, stamp=self.stamp())
        except WrongOffset as wrong:
            return self._told(wrong)
        if photo.state == "broken" and photo.received_bytes == 0:
            detail = "The picture does not match its checksum. Send it again from the beginning."
            return self._told(Checksum(detail, data={"offset": 0}))
        if photo.state == "broken":
            self._flag(photo)
        return Response(status=204, headers={OFFSET: str(photo.received_bytes)})

    def _photo(self, photo_id: UUID) -> Photo:
        photo = Photo.objects.filter(public_id=photo_id).first()
        if photo is None:
            raise NotFound("No command has told of this picture yet.")
        return photo

    def _flag(self, photo: Photo) -> None:
        """Its bytes are as they were sent, and no picture: sending it again would not help."""
        title = f"A file that was sent as a picture ({photo}) is none"
        about = About(order=photo.order)
        flag_raise(
            key=f"photo_broken:{photo.public_id}",
            kind="photo_broken",
            severity="note",
            title=title,
            about=about,
            stamp=self.stamp(),
        )

    def _told(self, refusal: WrongOffset) -> Response:
        reply = self.handle_exception(refusal)
        reply.headers[OFFSET] = str(refusal.data["offset"])
        return reply


class Checksum(WrongOffset):
    """What came is not what was announced."""

    code = "checksum"
    title = "The picture does not match its checksum"


def _offset(request: Any) -> int:
    told = request.headers.get(OFFSET, "")
    if not (told.isascii() and told.isdecimal() and len(told) <= OFFSET_DIGITS):
        raise Invalid("Say where the part begins.", [FieldError(OFFSET, "must be a whole number")])
    return int(told)
