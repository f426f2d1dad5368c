"""In-kind match: what the time of people who cost nothing is worth to who pays for the order."""

from dataclasses import replace

from estimating.burden import match_cents
from orders.costs.models import MatchRate
from orders.costs.services.entries import Cost
from orders.costs.services.labor import is_paid


def match_of(labor: Cost) -> Cost | None:
    """The worth of one time entry of a volunteer or of loaned staff, by the rate of the type and role on that day, with
    fringe (2 CFR 200.306(e) and (f)); None for paid people, and where no rate says what the time is worth.

    It stands in a book of its own, so that no sum of costs counts it.
    """
    person = labor.person
    if person is None or is_paid(person):
        return None
    rates = MatchRate.objects.filter(person_type=person.person_type, role=person.role, from_day__lte=labor.work_date)
    rate = rates.order_by("-from_day").first()
    if rate is None:
        return None
    return replace(
        labor,
        amount_cents=match_cents(labor.quantity, rate.rate_e4, rate.fringe_e4),
        rate_e4=rate.rate_e4,
        rate_origin="standard",
        source_kind="time_match",
        book="match",
        debit="match-used",
        credit="match-given",
    )
