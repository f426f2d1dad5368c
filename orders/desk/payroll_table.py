"""Hours of a pay period as one row a person, for its page and for paper."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from orders.costs.payroll_hours import CODES, DayHours
from orders.crews.models import Person


@dataclass
class PersonHours:
    person: Person
    by_code: Counter[str] = field(default_factory=Counter)
    days: dict[date, DayHours] = field(default_factory=dict)

    @property
    def lacks_sheets(self) -> int:
        return sum(not day.has_sheet for day in self.days.values())

    @property
    def minutes(self) -> int:
        return sum(day.minutes for day in self.days.values())


@dataclass(frozen=True)
class HoursTable:
    """`cells` of a person stand under `days`, `sums` under `codes`; codes that nobody has are left out."""

    codes: list[str]
    days: list[date]
    people: list[PersonHours]

    def rows(self) -> Iterable[tuple[PersonHours, list[int], list[DayHours | None]]]:
        for one in self.people:
            yield one, [one.by_code[code] for code in self.codes], [one.days.get(day) for day in self.days]

    @property
    def sums(self) -> list[int]:
        return [sum(one.by_code[code] for one in self.people) for code in self.codes]

    @property
    def minutes(self) -> int:
        return sum(one.minutes for one in self.people)

    @property
    def day_sums(self) -> list[int]:
        return [sum(one.days[day].minutes for one in self.people if day in one.days) for day in self.days]


def hours_table(hours: Iterable[DayHours], first: date, last: date) -> HoursTable:
    people: dict[int, PersonHours] = {}
    for row in hours:
        one = people.setdefault(row.person.pk, PersonHours(row.person))
        one.by_code.update(row.by_code)
        one.days[row.day] = row
    used = [code for code in CODES if any(one.by_code[code] for one in people.values())]
    days = [first + timedelta(days=number) for number in range((last - first).days + 1)]
    return HoursTable(used, days, list(people.values()))
