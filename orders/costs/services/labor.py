"""What an hour of a person costs, and what overtime is figured from."""

from datetime import date

from orders.costs.pay_selectors import pay_rate_for
from orders.crews.models import Person
from orders.crews.selectors import standard_rates

# Another employer pays the one, nobody the other.
UNPAID = frozenset({"volunteer", "loaned"})


def is_paid(person: Person) -> bool:
    return person.person_type not in UNPAID


def labor_rate(person: Person, on: date) -> tuple[int, str]:
    """1/10,000 dollars an hour and where it comes from: the person's own rate in the role; who has none yet, the
    standard rate of the role. Volunteers and loaned staff cost nothing."""
    if not is_paid(person):
        return 0, "pay"
    own = pay_rate_for(person, on, role=person.role)
    return (own.rate_e4, "pay") if own else (_standard(person, on), "standard")


def wage_e4(person: Person, on: date) -> int:
    """What the person is paid an hour; a rate without its wage stands for both."""
    own = pay_rate_for(person, on, role=person.role)
    if own is None:
        return _standard(person, on)
    return own.rate_e4 if own.wage_e4 is None else own.wage_e4


def _standard(person: Person, on: date) -> int:
    return standard_rates(on).get(person.role.code, 0)
