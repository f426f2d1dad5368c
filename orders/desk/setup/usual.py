"""What many programs begin with, taken in by marking it: states, species, questions. Each says where it is from."""

import csv
from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import LaborRole
from orders.desk.setup.reference import FOLDER
from orders.desk.setup.species_forms import SpeciesForm
from orders.sites.models import ChecklistQuestion, Jurisdiction, Species
from orders.sites.services import checklist_question_add, jurisdiction_add, species_add
from orders.sites.setting_up import questions_known
from orders.workorders.records.rules import profiles

# The states, for the names of those whose rules on records are here.
STATES = {
    "CA": "California",
    "CO": "Colorado",
    "IL": "Illinois",
    "IN": "Indiana",
    "KY": "Kentucky",
    "MD": "Maryland",
    "MO": "Missouri",
    "OH": "Ohio",
}
INVENTED = "Invented to begin with, from no payroll"


@dataclass(frozen=True)
class Usual:
    """One row that may be taken in."""

    code: str
    words: str
    about: str
    add: Callable[[Stamp], Any]


def reference_rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def jurisdictions_usual() -> list[Usual]:
    there = set(Jurisdiction.objects.values_list("code", flat=True))
    known = {row.jurisdiction: row.scope for row in profiles()}
    return [
        Usual(code, name, f"{code}; its rule on records: {known[code]}", _jurisdiction(code, name))
        for code, name in STATES.items()
        if code in known and code not in there
    ]


def _jurisdiction(code: str, name: str) -> Callable[[Stamp], Any]:
    return lambda stamp: jurisdiction_add(code=code, name=name, stamp=stamp)


def species_usual() -> list[Usual]:
    there = set(Species.objects.values_list("code", flat=True))
    return [_species(row) for row in reference_rows("species.csv") if row["code"] not in there]


def _species(row: dict[str, str]) -> Usual:
    """Read by the same form as what is typed, so that the same is refused."""
    flags = {name: row[name] == "yes" for name in ("evergreen", "resprouts")}
    form = SpeciesForm({**row, **flags})
    about = (
        f"{row['scientific_name']}, {row['code']}; {'evergreen' if flags['evergreen'] else 'drops its leaves'}, "
        f"fruits {row['fruit_first']} to {row['fruit_last']} ({row['phenology_source']})"
    )

    def add(stamp: Stamp) -> Species:
        if not form.is_valid():
            raise ValueError(f"Reference species {row['code']}: {form.errors.as_json()}")
        return species_add(**form.added(), stamp=stamp)

    return Usual(row["code"], row["common_name"], about, add)


def questions_usual() -> list[Usual]:
    there = set(ChecklistQuestion.objects.values_list("code", flat=True))
    after = max((row.sort for row in questions_known()), default=0)
    rows = [row for row in reference_rows("checklist_questions.csv") if row["code"] not in there]
    return [
        Usual(row["code"], row["question"], row["source"], _question(row, after + 10 * number))
        for number, row in enumerate(rows, start=1)
    ]


def _question(row: dict[str, str], sort: int) -> Callable[[Stamp], Any]:
    return lambda stamp: checklist_question_add(code=row["code"], question=row["question"], sort=sort, stamp=stamp)


@writing()
def usual_take(*, rows: Collection[Usual], stamp: Stamp) -> int:
    """All that are marked, or none."""
    for row in rows:
        row.add(stamp)
    return len(rows)


def rates_suggested(roles: Collection[LaborRole]) -> dict[int, str]:
    """Dollars an hour to begin with, by the role's key, for those that the reference has."""
    known = {row["role"]: row["dollars_an_hour"] for row in reference_rows("standard_rates.csv")}
    return {role.pk: known[role.code] for role in roles if role.code in known}
