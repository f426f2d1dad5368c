"""Pictures from the field. The row comes with its command; the bytes follow in parts that can be taken up again."""

from django.db import models
from django.db.models import F, Q

from orders.common.models import PublicIdModel


class Photo(PublicIdModel):
    """`about` and `about_id` name what it shows: an order, a patch's prescription, a sign, an incident, a detection.
    A place is kept only where the crew asked for it."""

    SUBJECTS = [
        ("before", "Before"),
        ("after", "After"),
        ("sign", "Sign"),
        ("incident", "Incident"),
        ("detection", "Detection"),
        ("other", "Other"),
    ]
    STATES = [("waiting", "Waiting for its bytes"), ("whole", "Whole"), ("broken", "Does not match its checksum")]
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, null=True, related_name="photos")
    about = models.CharField(max_length=20, blank=True)
    about_id = models.UUIDField(null=True, db_index=True)
    subject = models.CharField(max_length=10, choices=SUBJECTS)
    caption = models.CharField(max_length=200, blank=True)
    taken_at = models.DateTimeField()
    received_at = models.DateTimeField()
    by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    lon = models.FloatField(null=True)
    lat = models.FloatField(null=True)
    content_type = models.CharField(max_length=40)
    size_bytes = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    received_bytes = models.PositiveIntegerField(default=0)
    state = models.CharField(max_length=8, choices=STATES, default="waiting")
    whole_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["taken_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(received_bytes__lte=F("size_bytes")), name="photo_not_more_than_whole"),
        ]

    def __str__(self) -> str:
        return f"{self.get_subject_display()} of {self.taken_at:%Y-%m-%d}"
