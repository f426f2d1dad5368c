"""Indirect cost: the base that a rate applies to, and the rate's amount."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from estimating.errors import InvalidFact
from estimating.pay_types import E4
from estimating.pricing import to_cents

# Left out of the base whatever they cost; "indirect" too, for no rate applies to itself.
EXCLUDED = frozenset({"indirect", "capital", "rental", "tuition", "participant_support", "patient_care", "scholarship"})


@dataclass(frozen=True)
class BaseLine:
    """A direct cost of an award: its category, cents (below zero where a cost is taken back), the subaward that it was
    paid under if any, and whether it bought equipment."""

    category: str
    cents: int
    subaward: str = ""
    is_equipment: bool = False


def mtdc_cents(lines: Iterable[BaseLine], *, subaward_cap_cents: int, equipment_threshold_cents: int) -> int:
    """Modified total direct costs, cents.

        base = all lines, but not those of `EXCLUDED`, not equipment that costs the threshold or more,
               and of each subaward, over its whole period, no more than the cap

    So the lines must be all of the award's lines, not a month's. Equipment below the threshold counts as supplies.
    Source: 2 CFR 200.1 as told by adamsbrowncpa, BGSU, GWU (cap $50,000 and threshold $10,000 since October 2024;
    $25,000 and $5,000 before). InvalidFact: a negative cap or threshold.
    """
    for field, value in (
        ("subaward_cap_cents", subaward_cap_cents),
        ("equipment_threshold_cents", equipment_threshold_cents),
    ):
        if value < 0:
            raise InvalidFact("must not be negative", field)
    base, subawards = 0, dict[str, int]()
    for line in lines:
        if line.category in EXCLUDED or (line.is_equipment and abs(line.cents) >= equipment_threshold_cents):
            continue
        if line.subaward:
            subawards[line.subaward] = subawards.get(line.subaward, 0) + line.cents
        else:
            base += line.cents
    return base + sum(min(cents, subaward_cap_cents) for cents in subawards.values())


def indirect_cents(base_cents: int, indirect_e4: int) -> int:
    """Indirect cost of a base: base x rate (1/10,000), rounded once; a base below zero gives its reverse.

    Source: 2 CFR 200.414(f) (de minimis: up to 15% of modified total direct costs). InvalidFact: a negative rate.
    """
    if indirect_e4 < 0:
        raise InvalidFact("must not be negative", "indirect_e4")
    return to_cents(Fraction(base_cents * indirect_e4, 100 * E4))
