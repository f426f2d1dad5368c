"""From standard hours to field hours: who is sent, how fast they are, and how much they get in each other's way.

    crowding          = 1 + (n - 1) x r,   r = elbow room / (elbow room + worked area)
    effective people  = n x pace / crowding
    field hours       = standard hours x n / effective people = standard hours x crowding / pace

n is how many of the crew are sent: all, or as many as the method takes (`crew_most`). `pace` is the crew's mean: each
person's pace by role (a trained worker's is 1) times the share of the shift that heat leaves to those who are not used
to it. The elbow room is the ground one worker of the method keeps to himself: where the whole patch is no more than
that, r is near 1 and further people add nothing; on a large patch r is near 0 and all count in full.

The form of the crowding is our own, and the book's figures for it are invented: no published one for crews on small
patches was found. Published is the other end alone: a crew of 15 on open ground does twice the work of half of it
(NWCG Math 9.8), and so does this form there.
"""

from dataclasses import dataclass

import numpy as np

from estimating.columns import FloatArray
from estimating.crewday import heat_share
from estimating.inputs import CrewDay
from estimating.rate_book import RateBook


@dataclass(frozen=True)
class CrewLimits:
    """What the rate book says of the crew of a method: fewest and most people, and elbow room, m2."""

    least: float
    most: float
    elbow_room_m2: float

    def sent(self, size: int) -> float:
        """How many of a crew of this size are sent."""
        return min(float(size), self.most)


@dataclass(frozen=True)
class Pace:
    """How standard hours become field hours, by job; `pace` is the same for all of them."""

    standard_person_hours: FloatArray
    worked_area_m2: FloatArray
    crew_sent: FloatArray
    crowding: FloatArray
    pace: float

    @property
    def effective_people(self) -> FloatArray:
        """As many trained workers with all the room they want would do the same."""
        return self.crew_sent * self.pace / self.crowding

    @property
    def stretch(self) -> FloatArray:
        """Field hours for one standard hour."""
        return self.crowding / self.pace


def crew_limits(book: RateBook, method: str) -> CrewLimits:
    """Crew limits of a method; a book without them allows any crew and knows no crowding."""
    return CrewLimits(
        least=book.allowance("crew_least", method, missing=1.0),
        most=max(1.0, book.allowance("crew_most", method, missing=np.inf)),
        elbow_room_m2=book.allowance("elbow_room_m2", method, missing=0.0),
    )


def crew_pace(crew_day: CrewDay) -> float:
    """Mean pace of a person of the crew: by role, and by what heat leaves to those not used to it."""
    by_role = sum(count * crew_day.pace.get(role, 1.0) for role, count in crew_day.people.items()) / crew_day.size
    return by_role * heat_share(crew_day)


def crowding(people: float, worked_area_m2: FloatArray, elbow_room_m2: float) -> FloatArray:
    """1 + (n - 1) x elbow room / (elbow room + worked area); 1 where the method needs no elbow room."""
    if not elbow_room_m2:
        return np.ones(worked_area_m2.shape)
    return 1 + (people - 1) * (elbow_room_m2 / (elbow_room_m2 + worked_area_m2))
