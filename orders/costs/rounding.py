"""How the rounding of punches averaged out, person by person (29 CFR 785.48(b))."""

from dataclasses import dataclass
from datetime import date

from orders.common.models import User
from orders.costs.models import PaidPunch
from orders.costs.paid_time import spans_standing
from orders.costs.selectors import costs_open_to
from orders.crews.models import Person


@dataclass(frozen=True)
class Rounding:
    person: Person
    punches: int
    rule_minutes: int
    true_minutes: int
    rounded_minutes: int

    @property
    def difference(self) -> int:
        return self.rounded_minutes - self.true_minutes

    @property
    def is_against(self) -> bool:
        """Beyond the margin. It is our own: half a step of rounding, which is what a single punch may lose by chance.
        The rule asks that the sum comes to nothing over time and names no figure."""
        return -self.difference * 2 > self.rule_minutes


def rounding_report(actor: User, first: date, last: date) -> list[Rounding]:
    """By person's name, of the standing spans of these days. Where the policy changed on the way, by each rule."""
    costs_open_to(actor)
    rows = PaidPunch.objects.filter(span__in=spans_standing(first, last).order_by()).select_related("span__person")
    summed: dict[tuple[int, int], Rounding] = {}
    for row in rows.order_by("span__person__name", "span__person_id", "id"):
        key = row.span.person_id, row.rule_minutes
        before = summed.get(key) or Rounding(row.span.person, 0, row.rule_minutes, 0, 0)
        summed[key] = Rounding(
            before.person,
            before.punches + 1,
            before.rule_minutes,
            before.true_minutes + row.true_minutes,
            before.rounded_minutes + row.rounded_minutes,
        )
    return list(summed.values())
