"""The reference methods and rates for a program that begins: what comes with them, each marked with its source."""

import csv
import io
from pathlib import Path

from django.conf import settings

from orders.common.errors import WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import LaborRole, QualificationKind
from orders.crews.services import labor_role_add, qualification_kind_add
from orders.desk.program_season import RULES, chain_rules_load
from orders.estimates.models import RateBook
from orders.estimates.rate_csv import rates_from_csv
from orders.estimates.selectors import methods, rate_books
from orders.estimates.services import methods_load, rate_book_draft
from orders.planning.selectors import chain_rules

FOLDER = Path(settings.BASE_DIR) / "fixtures" / "reference"
BOOK = "Staff crews"
NOTES = (
    "Reference rates: from memory or invented where a row says so. Look them through before they are put in force, and "
    "calibrate them with your own closed orders."
)
ROLES = {
    "crew-lead": "Crew lead",
    "crew-member": "Crew member",
    "applicator": "Applicator",
    "sawyer": "Sawyer",
}
STANDARD_CREW = {"crew-lead": 1, "crew-member": 2, "applicator": 1}
SKILL_ROLES = {"crew": "crew-member", "applicator": "applicator", "sawyer": "sawyer"}
# code -> name, and whether it is a license; common practice: herbicide by licensed people, machines by trained ones
KINDS = {
    "certified-applicator": ("Certified applicator", True),
    "brush-mower": ("Brush-mower operator", False),
}
MOWING = "mow-mulch"


@writing()
def reference_load(*, stamp: Stamp) -> RateBook:
    """Methods, the roles and licenses that they name, chains of treatment, and a draft rate book to look through.

    For a program that has none of its own: where there is a method or a book already, nothing is loaded.
    """
    if methods().exists() or rate_books().exists():
        raise WrongState("There are methods or rate books already: the reference ones would mix with them.")
    for code, name in ROLES.items():
        if not LaborRole.objects.filter(code=code).exists():
            labor_role_add(code=code, name=name, stamp=stamp)
    kinds = {code: _kind(code, name, is_license, stamp) for code, (name, is_license) in KINDS.items()}
    rows = list(csv.DictReader(io.StringIO(_text("methods.csv"), newline="")))
    methods_load(rows=rows, qualification=_asked_by(rows, kinds), mix={}, stamp=stamp)
    if not chain_rules().exists():
        chain_rules_load(FOLDER, {RULES: {"rows": "chain_rules.csv"}}, stamp)
    return rate_book_draft(
        name=BOOK,
        rows=rates_from_csv(_text("rate_book.csv")),
        standard_crew=STANDARD_CREW,
        skill_roles=SKILL_ROLES,
        notes=NOTES,
        stamp=stamp,
    )


def _kind(code: str, name: str, is_license: bool, stamp: Stamp) -> QualificationKind:
    held = QualificationKind.objects.filter(code=code).first()
    return held or qualification_kind_add(code=code, name=name, is_license=is_license, stamp=stamp)


def _asked_by(rows: list[dict[str, str]], kinds: dict[str, QualificationKind]) -> dict[str, QualificationKind]:
    """Which kind each method asks for, by the method's code."""
    licensed = {row["code"]: kinds["certified-applicator"] for row in rows if row["needs_license"].strip() == "yes"}
    mowing = {row["code"]: kinds["brush-mower"] for row in rows if row["code"] == MOWING}
    return {**mowing, **licensed}


def _text(name: str) -> str:
    return (FOLDER / name).read_text(encoding="utf-8")
