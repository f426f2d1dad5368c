"""How far a season is: the hours that its work asks for, by what has become of them, method by method."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, F, Sum

from orders.planning.models import Prescription, Season

# In the order of the work; what is dropped is not asked for.
STAGES = (("open", "no day yet"), ("planned", "on a day"), ("ordered", "on an order"), ("done", "done"))


@dataclass(frozen=True)
class MethodState:
    """Person-hours of one method by stage, in the order of STAGES."""

    method: str
    hours: tuple[float, ...]


@dataclass(frozen=True)
class SeasonState:
    season: Season
    methods: Sequence[MethodState]
    pieces: tuple[int, ...]

    @property
    def hours(self) -> tuple[float, ...]:
        return tuple(sum(row.hours[stage] for row in self.methods) for stage in range(len(STAGES)))

    @property
    def whole_hours(self) -> float:
        return sum(self.hours)


def season_state(season: Season) -> SeasonState:
    """By likely hours of the estimates that the work rests on; the method with the most hours first. One query."""
    rows = Prescription.objects.filter(season=season, state__in=[code for code, _ in STAGES]).order_by()
    summed = rows.values_list("method__name", "state").annotate(
        hours=Sum(F("estimate__hours_likely") * F("share_left")), pieces=Count("id")
    )
    place = {code: number for number, (code, _) in enumerate(STAGES)}
    hours: dict[str, list[float]] = defaultdict(lambda: [0.0] * len(STAGES))
    pieces = [0] * len(STAGES)
    for method, state, amount, count in summed:
        hours[method][place[state]] += amount or 0.0
        pieces[place[state]] += count
    methods = [MethodState(method, tuple(amounts)) for method, amounts in hours.items()]
    return SeasonState(season, sorted(methods, key=lambda row: (-sum(row.hours), row.method)), tuple(pieces))
