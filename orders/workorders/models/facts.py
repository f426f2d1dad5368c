"""What all rows from the field share."""

from django.db import models

from orders.common.models import AppendOnlyModel, PublicIdModel


class FieldFact(AppendOnlyModel, PublicIdModel):
    """What somebody did or saw outside: when, and when the program heard of it. The tablet makes its id."""

    at = models.DateTimeField(help_text="When it happened, by the tablet's clock.")
    received_at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        abstract = True
