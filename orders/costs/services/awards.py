"""What a funder lets an award be charged and asks to be matched: dated terms, added and never changed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from orders.common.rows import Findings, row_add, row_edit
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.costs.models import CATEGORIES, Award, AwardTerm, Fund, LedgerEntry
from orders.costs.services.entries import WHOLE_E4


@dataclass(frozen=True)
class Ruleset:
    """Figures to begin a row of terms with. The row's own figures decide, whatever it is named after."""

    code: str
    name: str
    indirect_e4: int
    indirect_base: str
    subaward_cap_cents: int
    equipment_threshold_cents: int
    source: str


# 2 CFR 200.1 (modified total direct cost, equipment) and 200.414(f) (de minimis rate), before and after the revision
# that holds for awards made or amended from October 1, 2024
RULESETS = (
    Ruleset(
        code="federal-2024-10",
        name="Federal, from October 2024",
        indirect_e4=1_500,
        indirect_base="mtdc",
        subaward_cap_cents=5_000_000,
        equipment_threshold_cents=1_000_000,
        source="2 CFR 200.1 and 200.414(f), in force from October 1, 2024",
    ),
    Ruleset(
        code="federal-before",
        name="Federal, before October 2024",
        indirect_e4=1_000,
        indirect_base="mtdc",
        subaward_cap_cents=2_500_000,
        equipment_threshold_cents=500_000,
        source="2 CFR 200.1 and 200.414(f), as in force before October 1, 2024",
    ),
)


def _limits_of(code: str) -> dict[str, int]:
    known = [ruleset for ruleset in RULESETS if ruleset.code == code]
    names = "subaward_cap_cents", "equipment_threshold_cents"
    return {name: getattr(ruleset, name) for ruleset in known for name in names}


@writing()
def award_term_add(
    *,
    award: Award,
    from_day: date,
    ruleset: str,
    source: str,
    figures: Mapping[str, int],
    indirect_base: str = "none",
    allowed_categories: Iterable[str] = (),
    at_charge: str = "queue",
    stamp: Stamp,
) -> AwardTerm:
    """Add the terms that hold from a day on. `figures`: indirect_e4, subaward_cap_cents, equipment_threshold_cents,
    match_e4 and match_cents. Cap and threshold that are not named are those of the ruleset; else the columns' own
    defaults count."""
    figures = _limits_of(ruleset) | dict(figures)
    allowed = sorted(set(allowed_categories))
    row = AwardTerm(
        award=award,
        from_day=from_day,
        ruleset=ruleset,
        source=source,
        indirect_base=indirect_base,
        allowed_categories=allowed,
        at_charge=at_charge,
        **figures,
    )
    found = Findings()
    for name, value in figures.items():
        found.money(value, name)
    found.need(row.match_e4 <= WHOLE_E4, "match_e4", "At most the whole of what the award pays.")
    found.need(row.indirect_e4 <= WHOLE_E4, "indirect_e4", "At most the whole of the base.")
    unknown = set(allowed) - {code for code, _ in CATEGORIES}
    found.need(not unknown, "allowed_categories", f"There is no category {', '.join(sorted(unknown))}.")
    taken = AwardTerm.objects.filter(award=award, from_day=from_day).exists()
    found.need(not taken, "from_day", "The award has terms from that day already; terms are added, never changed.")
    needs_rate = indirect_base != "none" or not row.indirect_e4
    found.need(needs_rate, "indirect_base", "A rate needs a base.")
    return row_add(row, stamp=stamp, verb="award_term_add", findings=found)


@writing()
def award_edit(*, award: Award, values: dict[str, Any], expected: int, stamp: Stamp) -> Award:
    """The funder amended an award: its name, last day or ceiling. What was charged before must still fit."""
    last_day = values.get("last_day", award.last_day)
    ceiling = values.get("ceiling_cents", award.ceiling_cents)
    found = Findings()
    found.days_in_order(award.first_day, last_day)
    found.money(ceiling, "ceiling_cents")
    charged = LedgerEntry.objects.filter(award=award, book="cost", reverses=None, reversed_by=None)
    later = last_day < award.last_day and charged.filter(work_date__gt=last_day).exists()
    found.need(not later, "last_day", "Work after that day is charged to it already.")
    found.need(_charged(award) <= ceiling, "ceiling_cents", "More than that is charged to it already.")
    found.refuse("The award was not changed.")
    return row_edit(award, stamp=stamp, verb="award_edit", expected=expected, values=values)


@writing()
def fund_edit(*, fund: Fund, values: dict[str, Any], expected: int, stamp: Stamp) -> Fund:
    """Its name, or what may be spent of it."""
    found = Findings()
    if values.get("budget_cents") is not None:
        found.money(values["budget_cents"], "budget_cents")
    found.refuse("The fund was not changed.")
    return row_edit(fund, stamp=stamp, verb="fund_edit", expected=expected, values=values)


def _charged(award: Award) -> int:
    rows = LedgerEntry.objects.filter(award=award, book="cost").values_list("amount_cents", flat=True)
    return sum(rows)
