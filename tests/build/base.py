"""What all factories share: the base class, the clock of the tests, a stamp and a square."""

from datetime import UTC, date, datetime
from typing import Any

import factory
from factory.django import DjangoModelFactory

from orders.common.models import Role, User
from orders.common.stamp import Stamp

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 15, tzinfo=UTC)
WORK_DAY = date(2027, 2, 10)
WORKED_AT = datetime(2027, 2, 10, 20, tzinfo=UTC)


def stamp(by: User | None = None, at: datetime = NOW, reason: str = "") -> Stamp:
    return Stamp(by=by, at=at, reason=reason)


def square(lon: float = -85.7, lat: float = 38.2, side: float = 0.001) -> dict[str, Any]:
    """A GeoJSON square, its south-west corner at (lon, lat)."""
    ring = [[lon, lat], [lon + side, lat], [lon + side, lat + side], [lon, lat + side], [lon, lat]]
    return {"type": "Polygon", "coordinates": [ring]}


class Build(DjangoModelFactory):  # type: ignore[misc]  # untyped: see pyproject.toml
    """Rows that a hook adds are saved by the hook itself."""

    class Meta:
        abstract = True
        skip_postgeneration_save = True


class RoleFactory(Build):
    class Meta:
        model = Role
        django_get_or_create = ["code"]

    code = "coordinator"
    name = factory.LazyAttribute(lambda role: role.code.replace("_", " ").capitalize())


class UserFactory(Build):
    class Meta:
        model = User

    username = factory.Sequence(lambda n: f"user{n}")
    email = factory.LazyAttribute(lambda user: f"{user.username}@example.org")

    @factory.post_generation
    def password(self, create, extracted, **kwargs):
        """Hashing is slow on purpose: only a test that logs in with a password gives one."""
        if extracted:
            self.set_password(extracted)
        else:
            self.set_unusable_password()
        self.save(update_fields=["password"])

    @factory.post_generation
    def roles(self, create, extracted, **kwargs):
        """`roles=["coordinator"]`: codes, of which the migrations fill the table."""
        for code in extracted or []:
            self.roles.add(RoleFactory(code=code))


class FactFactory(Build):
    """When it happened and when the program heard of it."""

    class Meta:
        abstract = True

    at = WORKED_AT
    received_at = WORKED_AT
    by = factory.SubFactory(UserFactory, roles=["crew_lead"])
