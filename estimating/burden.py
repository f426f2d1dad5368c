"""What an hour costs beyond its wage, and what a volunteer's hour counts as match."""

from dataclasses import dataclass
from fractions import Fraction

from estimating.errors import InvalidFact
from estimating.pay_types import E4, MINUTES_AN_HOUR
from estimating.pricing import to_cents

YEAR_HOURS = 2080  # 52 weeks of 40 h
LONGEST_YEAR_HOURS = 8784


@dataclass(frozen=True)
class LoadedYear:
    """A year's cost of a person, exact dollars: pay, what comes on top, and indirect cost on both."""

    direct: Fraction
    indirect: Fraction

    @property
    def total(self) -> Fraction:
        return self.direct + self.indirect

    def an_hour(self, productive_hours: int) -> Fraction:
        """Dollars an hour that is really worked: total / productive hours. InvalidFact: no productive hour."""
        _hours_checked(productive_hours, "productive_hours")
        return self.total / productive_hours


def loaded_year(salary: Fraction, *, fringe_e4: int = 0, yearly_cents: int = 0, indirect_e4: int = 0) -> LoadedYear:
    """A year's loaded cost in dollars.

        direct = salary x (1 + fringe) + fixed yearly cost;   indirect = direct x indirect rate

    `fringe_e4`, `indirect_e4`: 1/10,000 of what they apply to. Sources: 2 CFR 200.431(a) (what fringe is); the
    productive-hour method of a university's sponsored research office (UNC OSR 300.7). InvalidFact: negative figures.
    """
    for field, value in (
        ("salary", salary),
        ("fringe_e4", fringe_e4),
        ("yearly_cents", yearly_cents),
        ("indirect_e4", indirect_e4),
    ):
        if value < 0:
            raise InvalidFact("must not be negative", field)
    direct = salary * (1 + Fraction(fringe_e4, E4)) + Fraction(yearly_cents, 100)
    return LoadedYear(direct, direct * Fraction(indirect_e4, E4))


def loaded_rate_e4(
    wage_e4: int,
    *,
    fringe_e4: int = 0,
    yearly_cents: int = 0,
    paid_hours: int = YEAR_HOURS,
    productive_hours: int = YEAR_HOURS,
) -> int:
    """Cost of a productive hour in 1/10,000 dollar, half up.

        rate = (wage x paid hours x (1 + fringe) + fixed yearly cost) / productive hours

    Productive hours are the paid ones less leave and holidays. Source: as `loaded_year`. InvalidFact: negative figures,
    hours that are none or more than a year has, more productive than paid hours.
    """
    if wage_e4 < 0:
        raise InvalidFact("must not be negative", "wage_e4")
    _hours_checked(paid_hours, "paid_hours")
    _hours_checked(productive_hours, "productive_hours")
    if productive_hours > paid_hours:
        raise InvalidFact("must not be more than the paid hours", "productive_hours")
    year = loaded_year(Fraction(wage_e4 * paid_hours, E4), fringe_e4=fringe_e4, yearly_cents=yearly_cents)
    return int(year.an_hour(productive_hours) * E4 + Fraction(1, 2))


def match_cents(minutes: int, rate_e4: int, fringe_e4: int = 0) -> int:
    """Worth of a volunteer's time as match, cents: hours x rate x (1 + fringe), rounded once.

    The rate must be what the program pays for similar work, or else the local market's; fringe may be included where it
    is reasonable. Source: 2 CFR 200.306(e). InvalidFact: negative figures.
    """
    for field, value in (("minutes", minutes), ("rate_e4", rate_e4), ("fringe_e4", fringe_e4)):
        if value < 0:
            raise InvalidFact("must not be negative", field)
    return to_cents(Fraction(minutes * rate_e4, MINUTES_AN_HOUR * E4) * (1 + Fraction(fringe_e4, E4)))


def _hours_checked(hours: int, field: str) -> None:
    if not 0 < hours <= LONGEST_YEAR_HOURS:
        raise InvalidFact(f"must be 1 to {LONGEST_YEAR_HOURS}", field)
