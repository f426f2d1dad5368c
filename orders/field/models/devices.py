"""Tablets: who may use which, what each has sent, and what of it a person must settle."""

from django.db import models
from django.db.models import Q

from orders.common.models import PublicIdModel, VersionedModel


class Device(VersionedModel):
    """A tablet that was enrolled once and works until its last day, or until somebody revokes it. Its token is kept as
    a hash. `next_seq` is the number that is applied next."""

    name = models.CharField(max_length=80)
    token_sha256 = models.CharField(max_length=64, unique=True)
    enrolled_at = models.DateTimeField()
    expires_on = models.DateField()
    revoked_at = models.DateTimeField(null=True)
    revoked_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    revoke_reason = models.CharField(max_length=200, blank=True)
    last_contact_at = models.DateTimeField(null=True)
    app_version = models.CharField(max_length=40, blank=True)
    waiting_told = models.PositiveIntegerField(default=0, help_text="Commands not yet sent, as the tablet last said.")
    skew_seconds = models.IntegerField(null=True, help_text="Its clock less ours, at the last contact.")
    next_seq = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ["name", "id"]

    def __str__(self) -> str:
        return self.name


class DeviceUser(PublicIdModel):
    """Two people may share a tablet; each unlocks it with a PIN that stays on it."""

    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="device_users")
    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="device_users")
    added_at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["device_id", "id"]
        constraints = [models.UniqueConstraint(fields=["device", "user"], name="device_user_once")]

    def __str__(self) -> str:
        return f"{self.user} on {self.device}"


class EnrollmentCode(PublicIdModel):
    """A code of one use, from the desk: it makes a tablet known, or adds a person to one that is."""

    code_sha256 = models.CharField(max_length=64, unique=True)
    user = models.ForeignKey("common.User", on_delete=models.PROTECT, related_name="enrollment_codes")
    made_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    device = models.ForeignKey(Device, on_delete=models.PROTECT, null=True, related_name="codes")

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"Code for {self.user}"


class Command(PublicIdModel):
    """What a tablet sent, as it came, and what became of it. `public_id` is the tablet's; the same again gets the
    same answer. A waiting one stands behind a gap in its tablet's numbers, which times out."""

    STATES = [
        ("waiting", "Waiting for what came before it"),
        ("applied", "Applied"),
        ("held", "Held for a person"),
        ("unreadable", "Cannot be read"),
        ("settled", "Settled"),
    ]
    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="commands")
    seq = models.PositiveIntegerField()
    user = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    kind = models.CharField(max_length=40, blank=True)
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, null=True, related_name="commands")
    raw = models.TextField()
    sha256 = models.CharField(max_length=64)
    app_version = models.CharField(max_length=40, blank=True)
    happened_at = models.DateTimeField(null=True)
    received_at = models.DateTimeField()
    skew_seconds = models.IntegerField(null=True)
    from_file = models.BooleanField(default=False, help_text="Brought in at the desk from a tablet's export.")
    state = models.CharField(max_length=10, choices=STATES, default="waiting")
    answer = models.JSONField(null=True)
    answered_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["device_id", "seq", "id"]
        indexes = [
            models.Index(fields=["device", "state", "seq"], name="command_waiting"),
            models.Index(fields=["state", "received_at"], name="command_state"),
        ]

    def __str__(self) -> str:
        return f"{self.kind or 'command'} {self.seq} from {self.device}"


class Flag(VersionedModel):
    """Something from the field that a person must look at. `key` names its cause, so that it is raised once."""

    SEVERITIES = [("note", "To know"), ("settle", "To settle"), ("urgent", "Urgent")]
    STATES = [("open", "Open"), ("settled", "Settled")]
    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=40)
    severity = models.CharField(max_length=8, choices=SEVERITIES)
    title = models.CharField(max_length=200)
    detail = models.TextField(blank=True)
    data = models.JSONField(default=dict)
    order = models.ForeignKey("workorders.WorkOrder", on_delete=models.PROTECT, null=True, related_name="flags")
    site = models.ForeignKey("sites.Site", on_delete=models.PROTECT, null=True, related_name="flags")
    crew = models.ForeignKey("crews.Crew", on_delete=models.PROTECT, null=True, related_name="flags")
    person = models.ForeignKey(
        "crews.Person", on_delete=models.PROTECT, null=True, related_name="flags", help_text="Whom it is told, too."
    )
    command = models.ForeignKey(Command, on_delete=models.PROTECT, null=True, related_name="flags")
    for_roles = models.JSONField(default=list)
    raised_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=STATES, default="open")
    settled_at = models.DateTimeField(null=True)
    settled_by = models.ForeignKey("common.User", on_delete=models.PROTECT, null=True, related_name="+")
    resolution = models.CharField(max_length=20, blank=True)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-raised_at", "-id"]
        indexes = [models.Index(fields=["state", "severity"], name="flag_state")]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="open", settled_at__isnull=True) | Q(state="settled", settled_at__isnull=False),
                name="flag_settled_has_moment",
            )
        ]

    def __str__(self) -> str:
        return self.title
