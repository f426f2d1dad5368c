"""Base models: a public id on everything, a version where it is edited, no change where it is a record."""

import uuid
from typing import ClassVar

from django.db import models


class PublicIdModel(models.Model):
    """The client may make the id, so that a retry names the same thing."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)

    class Meta:
        abstract = True


class VersionedModel(PublicIdModel):
    """Edited in place; `version` is the ETag and counts the changes recorded."""

    version = models.PositiveIntegerField(default=1, editable=False)

    class Meta:
        abstract = True


class AppendOnlyModel(models.Model):
    """Rows are added, never changed or deleted: database triggers refuse it (orders.common.appendonly)."""

    append_only: ClassVar[bool] = True

    class Meta:
        abstract = True
