"""The feed of changes, in the order in which they happened: what a reader has not seen yet."""

from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint, queries_check
from orders.api.operations import reports
from orders.api.shapes import Out, Row, UserRef
from orders.common.errors import FieldError, Invalid
from orders.common.models import Change
from orders.common.selectors import changes_of
from orders.crews.selectors import memberships_of

PAGE, MOST = 100, 500
MOST_PLACES = 10**15
QUERIES = (
    ("after", {"type": "integer", "minimum": 0, "maximum": MOST_PLACES, "default": 0}, "The last place already seen."),
    ("limit", {"type": "integer", "minimum": 1, "maximum": MOST, "default": PAGE}, "Rows at once."),
)


class ChangeOut(Row):
    place = serializers.IntegerField(source="pk", help_text="In the feed; give the last one as `after`.")
    at = serializers.DateTimeField()
    actor = UserRef(allow_null=True)
    verb = serializers.CharField()
    entity = serializers.CharField()
    entity_id = serializers.UUIDField()
    entity_version = serializers.IntegerField(allow_null=True)
    before = serializers.DictField(allow_null=True)
    after = serializers.DictField(allow_null=True)
    reason = serializers.CharField()
    gone = serializers.BooleanField(help_text="It has left your crews: forget it.")

    def to_representation(self, instance: Change) -> dict[str, Any]:
        """What has left a crew is no longer that crew's to read."""
        instance.gone = getattr(instance, "left", False)  # type: ignore[attr-defined]  # told by the scope
        shown = super().to_representation(instance)
        return shown | ({"before": None, "after": None, "reason": ""} if shown["gone"] else {})


class FeedOut(Out):
    results = ChangeOut(many=True)
    last = serializers.IntegerField(help_text="The place to ask after next time.")
    more = serializers.BooleanField(help_text="Whether there is more to fetch at once.")


class Changes(Endpoint):
    endpoint = "changes"

    @reports(FeedOut, queries=QUERIES)
    def get(self) -> dict[str, Any]:
        """What changed after a place in the feed. A crew lead sees what concerns own crews, and what has left them."""
        queries_check(self.request, {name for name, _, _ in QUERIES})
        after, limit = self._number("after", 0, MOST_PLACES, 0), self._number("limit", 1, MOST, PAGE)
        own = [member.crew.public_id for member in memberships_of(self.actor, self.today)]
        found = list(changes_of(self.actor, own, after=after)[: limit + 1])
        page = found[:limit]
        return {"results": page, "last": page[-1].pk if page else after, "more": len(found) > limit}

    def _number(self, name: str, least: int, most: int, usual: int) -> int:
        asked = self.request.query_params.get(name, str(usual))
        if not (asked.isascii() and asked.isdigit() and len(asked) < 20 and least <= int(asked) <= most):
            raise Invalid("The feed cannot be read that way.", [FieldError(name, f"must be from {least} to {most}")])
        return int(asked)
