"""The season of a program's documents: its days, its money by fund, and the rules of chains, which are a CSV file."""

import csv
import io
from pathlib import Path
from typing import Any

from orders.common.errors import Invalid, NotFound
from orders.common.stamp import Stamp
from orders.desk.documents import Entry, Misread, Rows, anything, day, file_text, listed, text, whole
from orders.desk.subjects import Subject
from orders.estimates.selectors import method_get
from orders.planning.chain_rules import chain_rule_add
from orders.planning.funds import season_fund_add
from orders.planning.services import season_add
from orders.planning.worth import season_budget_level_set, season_worth_set

FILE = "season.json"
RULES = "chain_rules"


def _season(entry: Entry, _: Rows, stamp: Stamp) -> Any:
    season = season_add(
        stamp=stamp,
        name=entry.get("name", text),
        first_day=entry.get("first_day", day),
        last_day=entry.get("last_day", day),
        budget_cents=entry.may("budget_cents", whole, None),
    )
    level = entry.may("budget_level", text, None)
    if level is not None:
        season_budget_level_set(season=season, level=level, stamp=stamp)
    worth = entry.may("worth", anything, None)
    if worth is not None:
        season_worth_set(season=season, worth=worth, stamp=stamp)
    return season


def _season_fund(entry: Entry, rows: Rows, stamp: Stamp) -> Any:
    site = rows.one("sites")
    return season_fund_add(
        stamp=stamp,
        season=entry.get("season", rows.one("season")),
        code=entry.get("code", text),
        name=entry.get("name", text),
        budget_cents=entry.get("budget_cents", whole),
        sites=entry.may("sites", lambda codes: [site(code) for code in listed(codes)], []),
        first_day=entry.may("first_day", day, None),
        last_day=entry.may("last_day", day, None),
    )


SEASON = (
    Subject(FILE, "season", "name", _season),
    Subject(FILE, "season_funds", "", _season_fund),
)


def chain_rules_load(folder: Path, content: dict[str, Any], stamp: Stamp) -> int:
    """Rules of chains between methods that are loaded; returns how many."""
    entry = Entry(FILE, RULES, 1, content.get(RULES, {}))
    name = entry.may("rows", text, None)
    entry.done()
    if name is None:
        return 0
    rows = list(csv.DictReader(io.StringIO(file_text(folder, FILE, "rows", name), newline="")))
    for number, row in enumerate(rows, start=1):
        _chain_rule(Entry(Path(name).name, RULES, number, row), stamp)
    return len(rows)


def _chain_rule(entry: Entry, stamp: Stamp) -> None:
    try:
        chain_rule_add(
            code=entry.get("code", text),
            after=entry.get("after", _method),
            after_purpose=entry.may("after_purpose", text, ""),
            species=entry.get("species", text),
            purpose=entry.get("purpose", text),
            method=entry.get("method", _method),
            least_days=entry.get("least_days", _days),
            most_days=entry.get("most_days", _days),
            share=entry.get("share", _share),
            source=entry.get("source", text),
            stamp=stamp,
        )
    except Misread:
        raise
    except Invalid as refusal:
        raise entry.located(refusal) from refusal
    entry.done()


def _method(code: Any) -> Any:
    try:
        return method_get(text(code))
    except NotFound as error:
        raise ValueError(f"there is no method {code!r}.") from error


def _days(value: Any) -> int:
    if not text(value).isdecimal():
        raise ValueError("must be a whole number of days.")
    return int(value)


def _share(value: Any) -> float:
    try:
        return float(text(value))
    except ValueError:
        raise ValueError("must be a number.") from None
