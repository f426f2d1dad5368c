"""People who log in, and what their roles open."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from orders.common.models.base import PublicIdModel

COORDINATOR = "coordinator"
CREW_LEAD = "crew_lead"
PESTICIDE_SUPERVISOR = "pesticide_supervisor"
FINANCE = "finance"
ADMINISTRATOR = "administrator"


class Role(models.Model):
    """A vocabulary row; what each role opens is in orders.api.permissions.TABLE and in the scopes."""

    code = models.SlugField(unique=True)
    name = models.CharField(max_length=60)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.name


class User(PublicIdModel, AbstractUser):
    roles = models.ManyToManyField(Role, related_name="users", blank=True)

    class Meta(AbstractUser.Meta):
        abstract = False
        ordering = ["username"]

    @property
    def role_codes(self) -> frozenset[str]:
        """Read once an instance: a request asks for it many times."""
        if not hasattr(self, "_role_codes"):
            self._role_codes = frozenset(self.roles.values_list("code", flat=True))
        return self._role_codes

    def has_role(self, *codes: str) -> bool:
        return self.is_active and not self.role_codes.isdisjoint(codes)
