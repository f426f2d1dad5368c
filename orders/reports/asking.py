"""What may be asked of a report: its cuts, what it is narrowed to, and which month counts."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from orders.common.errors import FieldError, Invalid, NotFound
from orders.costs.models import ACCOUNTS, BOOKS, CATEGORIES, Award, Fund
from orders.costs.selectors import fund_by_code
from orders.planning.models import Season
from orders.planning.selectors import season_get

BASES = {"posted": "the month it was posted", "worked": "the month of the work"}
WORD_CHARACTERS = 80
WRONG = "The report cannot be asked for that way."
DECEMBER = 12
YEARS = range(1990, 2100)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """Empty is everything. `month_from` and `month_to` are first days of months, both included."""

    by: str = ""
    also: str = ""
    season: Season | None = None
    fund: Fund | None = None
    award: Award | None = None
    site: str = ""
    method: str = ""
    crew: str = ""
    category: str = ""
    account: str = ""
    book: str = ""
    month_from: date | None = None
    month_to: date | None = None
    basis: str = "posted"
    on: date | None = None

    def where(self) -> dict[str, Any]:
        """Which rows, planned or posted, the report is about, whichever way it is cut."""
        exact = {
            "order__season": self.season,
            "fund": self.fund,
            "award": self.award,
            "site_code": self.site,
            "method_code": self.method,
            "crew_name": self.crew,
            "category": self.category,
        }
        return {name: value for name, value in exact.items() if value} | self._months()

    def _months(self) -> dict[str, date]:
        field = "posting_month" if self.basis == "posted" else "work_date"
        from_on = {f"{field}__gte": self.month_from} if self.month_from else {}
        return from_on | ({f"{field}__lt": month_after(self.month_to)} if self.month_to else {})

    def told(self) -> tuple[str, ...]:
        """In words, for the head of a page or a file."""
        season = f"Orders of {self.season}; what belongs to no order is left out" if self.season else ""
        narrowed = {
            "Fund": self.fund,
            "Award": self.award,
            "Site": self.site,
            "Method": self.method,
            "Crew": self.crew,
            "Category": dict(CATEGORIES).get(self.category, ""),
            "Account": dict(ACCOUNTS).get(self.account, ""),
            "Book": dict(BOOKS).get(self.book, ""),
        }
        words = [season, *(f"{name}: {value}" for name, value in narrowed.items() if value), self._months_told()]
        return tuple(f"{word}." for word in words if word)

    def _months_told(self) -> str:
        if not (self.month_from or self.month_to):
            return ""
        ends = [f"{day:%B %Y}" if day else "" for day in (self.month_from, self.month_to)]
        return f"Months {ends[0] or 'from the first'} to {ends[1] or 'the last'}, by {BASES[self.basis]}"


def month_after(month: date) -> date:
    return date(month.year + (month.month == DECEMBER), month.month % DECEMBER + 1, 1)


def asked_read(query: Mapping[str, str], **usual: str) -> Asked:
    """The words of an address as what they mean; every one that cannot be read is named. `usual` fills what is not
    said; a report's own words (how it is sorted or turned) are not looked at here."""
    said = usual | {name: str(value) for name, value in query.items() if value}
    errors: list[FieldError] = []
    found = {ASKED_AS.get(name, name): _read(name, said[name], errors) for name in READERS if name in said}
    if found.get("month_from") and found.get("month_to") and found["month_to"] < found["month_from"]:
        errors.append(FieldError("month_to", "lies before the first month"))
    if errors:
        raise Invalid(WRONG, errors)
    return Asked(**found)


def _read(name: str, text: str, errors: list[FieldError]) -> Any:
    try:
        return READERS[name](text)
    except ValueError as error:
        errors.append(FieldError(name, str(error)))
        return None


def month_read(text: str) -> date:
    """2027-03, as a month's field of a browser writes it."""
    try:
        month = date.fromisoformat(f"{text}-01") if len(text) == len("2027-03") else None
    except ValueError:
        month = None
    if month is None or month.year not in YEARS:
        raise ValueError(f"must be a month such as 2027-03, in the years {YEARS[0]} to {YEARS[-1]}")
    return month


def day_read(text: str) -> date:
    try:
        day = date.fromisoformat(text) if len(text) == len("2027-03-01") else None
    except ValueError:
        day = None
    if day is None or day.year not in YEARS:
        raise ValueError(f"must be a day such as 2027-03-01, in the years {YEARS[0]} to {YEARS[-1]}")
    return day


def _season(text: str) -> Season:
    try:
        return season_get(UUID(text))
    except ValueError:
        raise ValueError("must be the id of a season") from None


def _fund(text: str) -> Fund:
    return fund_by_code(_word(text))


def _award(text: str) -> Award:
    found = Award.objects.filter(code=_word(text)).first()
    if found is None:
        raise NotFound(f"There is no award {text}.")
    return found


def _word(text: str) -> str:
    if len(text) > WORD_CHARACTERS or "\0" in text:
        raise ValueError(f"must be a word of at most {WORD_CHARACTERS} characters")
    return text


def _one_of(words: Mapping[str, str]) -> Any:
    def read(text: str) -> str:
        if text not in words:
            raise ValueError(f"must be one of {', '.join(words)}")
        return text

    return read


WORDS: dict[str, Mapping[str, str]] = {
    "category": dict(CATEGORIES),
    "account": dict(ACCOUNTS),
    "book": dict(BOOKS),
    "basis": BASES,
}
READERS: dict[str, Any] = {
    "by": _word,
    "and": _word,
    "season": _season,
    "fund": _fund,
    "award": _award,
    "site": _word,
    "method": _word,
    "crew": _word,
    "month_from": month_read,
    "month_to": month_read,
    **{name: _one_of(words) for name, words in WORDS.items()},
    "on": day_read,
}
ASKED_AS = {"and": "also"}
