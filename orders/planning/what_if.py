"""What a plan that is only looked at assumes: more crews, more days, another budget, no herbicide."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from orders.common.errors import FieldError, Invalid

MOST_EXTRA_CREWS = 20
MOST_PERCENT = 1_000.0


@dataclass(frozen=True)
class WhatIf:
    """`like_crew`: which crew the extra ones are copies of; without one, the crew that works most hours a day.
    `saturdays`: every crew works on Saturdays too, at the same rates."""

    extra_crews: int = 0
    like_crew: UUID | None = None
    budget_percent: float = 100.0
    no_herbicide: bool = False
    saturdays: bool = False

    def check(self) -> None:
        """Refuse figures out of range, and a question that changes nothing."""
        errors = []
        if not 0 <= self.extra_crews <= MOST_EXTRA_CREWS:
            errors.append(FieldError("extra_crews", f"must be from 0 to {MOST_EXTRA_CREWS}"))
        if not 0 < self.budget_percent <= MOST_PERCENT:
            errors.append(FieldError("budget_percent", f"must be above 0 and at most {MOST_PERCENT:g}"))
        if not errors and self.words() == "":
            errors.append(FieldError("extra_crews", "nothing differs from the plan as it is"))
        if errors:
            raise Invalid("This what-if cannot be planned.", errors)

    @property
    def only_adds(self) -> bool:
        """Whether it plans with more than there is, and takes nothing away: what fits now fits then."""
        return self != WhatIf() and self.budget_percent >= 100 and not self.no_herbicide

    def words(self) -> str:
        """For people: "1 more crew, 10% less money, no herbicide"."""
        crews = f"{self.extra_crews} more {'crew' if self.extra_crews == 1 else 'crews'}"
        other = self.budget_percent - 100
        money = f"{abs(other):g}% {'less' if other < 0 else 'more'} money"
        said = [
            crews if self.extra_crews else "",
            money if other else "",
            "no herbicide" if self.no_herbicide else "",
            "Saturdays too" if self.saturdays else "",
        ]
        return ", ".join(text for text in said if text)

    def as_json(self) -> dict[str, Any]:
        return {
            "extra_crews": self.extra_crews,
            "like_crew": None if self.like_crew is None else str(self.like_crew),
            "budget_percent": self.budget_percent,
            "no_herbicide": self.no_herbicide,
            "saturdays": self.saturdays,
        }

    @classmethod
    def of_json(cls, stored: Mapping[str, Any]) -> "WhatIf":
        like = stored.get("like_crew")
        return cls(
            extra_crews=int(stored.get("extra_crews", 0)),
            like_crew=UUID(like) if like else None,
            budget_percent=float(stored.get("budget_percent", 100.0)),
            no_herbicide=bool(stored.get("no_herbicide", False)),
            saturdays=bool(stored.get("saturdays", False)),
        )
