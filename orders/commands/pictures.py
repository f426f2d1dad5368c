"""Pictures, before their bytes."""

from orders.bodies.pictures import PhotoIn
from orders.commands.heard import Heard, hears
from orders.commands.lookups import said
from orders.workorders.models import Photo
from orders.workorders.photos import photo_announce

FACTS = ("about", "about_id", "subject", "caption", "taken_at", "content_type", "size_bytes", "sha256", "lon", "lat")


@hears("photo", PhotoIn)
def photo_hear(heard: Heard) -> None:
    photo = Photo(public_id=heard.body["id"], order=heard.order, **said(heard.body, *FACTS))
    photo_announce(photo=photo, stamp=heard.stamp)
