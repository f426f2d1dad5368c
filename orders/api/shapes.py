"""What goes in and what comes out. Serializers translate only: they look nothing up and write nothing."""

from collections.abc import Mapping
from typing import Any, ClassVar

from rest_framework import serializers

from orders.common.models import User


class Out(serializers.Serializer[Any]):
    """A row as it is shown. Fields of `only_for` are left out for those who hold none of the roles."""

    only_for: ClassVar[Mapping[str, frozenset[str]]] = {}

    def get_fields(self) -> dict[str, Any]:
        fields = super().get_fields()
        for name in self.only_for:
            fields[name].required = False
        return fields

    def to_representation(self, instance: Any) -> dict[str, Any]:
        shown = dict(super().to_representation(instance))
        for name in self.hidden_from(self.context.get("actor")):
            shown.pop(name, None)
        return shown

    @classmethod
    def hidden_from(cls, actor: User | None) -> tuple[str, ...]:
        named = cls.only_for.items()
        return tuple(name for name, roles in named if actor is None or not actor.has_role(*roles))


class Row(Out):
    """Anything with a public id."""

    id = serializers.UUIDField(source="public_id")


class VersionedRow(Row):
    version = serializers.IntegerField()


class NamedRef(Row):
    name = serializers.CharField()


class SiteRef(NamedRef):
    code = serializers.CharField()


class PatchRef(NamedRef):
    code = serializers.CharField()
    site = SiteRef()


class MethodRef(Out):
    code = serializers.CharField()
    name = serializers.CharField()


class SpeciesRef(Out):
    code = serializers.CharField()
    common_name = serializers.CharField()


class UserRef(Row):
    name = serializers.CharField(source="username")
