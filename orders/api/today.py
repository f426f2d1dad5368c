"""What waits for the reader today, by kind, as the start page shows it."""

from typing import Any

from rest_framework import serializers

from orders.api.base import Endpoint
from orders.api.operations import reports
from orders.api.queries import AN_ID, one_of, queries_read
from orders.api.shapes import Out
from orders.bodies.fields import id_read
from orders.common.clock import now
from orders.planning.selectors import season_get, seasons
from orders.reports.today import Reader, cards_found

WRONG = "Today cannot be asked for that way."


class WaitingLineOut(Out):
    words = serializers.CharField()
    about = serializers.CharField()
    id = serializers.UUIDField(source="key", allow_null=True)


class WaitingOut(Out):
    code = serializers.CharField(source="card.code")
    words = serializers.CharField()
    count = serializers.IntegerField(source="waiting.count")
    first = WaitingLineOut(source="waiting.lines", many=True)


class TodayOut(Out):
    on = serializers.DateField()
    waiting = WaitingOut(many=True, help_text="The most pressing first; kinds of which nothing waits are left out.")


class Today(Endpoint):
    endpoint = "today"

    @reports(TodayOut, queries=(("season", AN_ID, "Whose work is meant; else the newest season."),), names_others=True)
    def get(self) -> dict[str, Any]:
        """What needs you: late crews, flags, deadlines, orders, records, and what your other roles look after."""
        read = queries_read(self.request, {"season": id_read}, wrong=WRONG)
        season = one_of(season_get, read, "season") or seasons().first()
        found = cards_found(Reader(self.actor, now(), self.today, season))
        return {"on": self.today, "waiting": [shown for shown in found if shown.waiting]}
