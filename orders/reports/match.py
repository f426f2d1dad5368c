"""In-kind work given to awards: hours, what they are worth, what is required, and what is still to be earned."""

from collections.abc import Mapping
from typing import Any

from django.db.models import Sum

from orders.common.models import User
from orders.costs.models import Award, LedgerEntry
from orders.costs.selectors import costs_open_to
from orders.costs.statements import award_statement
from orders.reports.as_of import books_day
from orders.reports.asking import Asked, asked_read
from orders.reports.cube import DIMENSIONS, LABOR_MINUTES, field_of, names_of
from orders.reports.lines import Line
from orders.reports.table import Column, Table

CUTS = {"award": "Award", "person_type": "Award and kind of person", "month": "Award and month"}
USUAL_CUT = "award"
NO_AWARD = "No award"

GIVEN = (Column("minutes", "Hours", "minutes", total=True), Column("value_cents", "Worth", "cents", total=True))
OWED = (Column("required_cents", "Required", "cents", total=True), Column("missing_cents", "Still to earn", "cents"))


def match_table(actor: User, query: Mapping[str, str]) -> Table:
    costs_open_to(actor)
    asked = asked_read(query, by=USUAL_CUT)
    first = Column("award", "Award", "text")
    if asked.by in {"", USUAL_CUT}:
        rows = _by_award(actor, asked)
        return Table("In-kind match by award", asked.told(), (first, *GIVEN, *OWED), rows)
    dimension = DIMENSIONS[asked.by]
    names = names_of(dimension)
    rows = [
        Line.of((award or NO_AWARD, names.get(key, key), minutes, cents), **_behind(award, asked))
        for (award, key), (minutes, cents) in _sums(asked, asked.by).items()
    ]
    columns = (first, Column(dimension.code, dimension.heading, "text"), *GIVEN)
    return Table(f"In-kind match by award and {dimension.heading.lower()}", asked.told(), columns, rows)


def _behind(award: str, asked: Asked) -> dict[str, str]:
    return {"book": "match"} | ({"award": award} if award else {})


def _by_award(actor: User, asked: Asked) -> list[Line]:
    """Awards that ask for match, or were given some; what is required goes by what the award paid until the day."""
    given = {award: sums for (award, _), sums in _sums(asked, "").items()}
    chosen = Award.objects.filter(pk=asked.award.pk) if asked.award else Award.objects.all()
    until = books_day(asked)
    rows = []
    for award in chosen.order_by("code"):
        statement = award_statement(actor, award, until)
        minutes, cents = given.pop(award.code, (0, 0))
        if cents or minutes or statement.match_required_cents:
            cells = (award.code, minutes, cents, statement.match_required_cents, statement.match_missing_cents)
            rows.append(Line.of(cells, **_behind(award.code, asked)))
    return rows + [
        Line.of((award or NO_AWARD, minutes, cents, None, None), **_behind(award, asked))
        for award, (minutes, cents) in given.items()
    ]


def _sums(asked: Asked, by: str) -> dict[tuple[str, str], tuple[int, int]]:
    """Minutes and cents by award and by one more thing that the rows tell."""
    rows = LedgerEntry.objects.filter(**asked.where(), book="match").order_by()
    keyed: dict[str, Any] = {"key_award": field_of(LedgerEntry, "award__code", asked.basis)}
    if by:
        keyed["key_more"] = field_of(LedgerEntry, DIMENSIONS[by].fields[0], asked.basis)
    summed = rows.annotate(**keyed).values_list(*keyed)
    found = summed.annotate(minutes=Sum("quantity", filter=LABOR_MINUTES), cents=Sum("amount_cents"))
    sums = {
        (award or "", _text(more[0]) if more else ""): (int(minutes or 0), int(cents or 0))
        for award, *more, minutes, cents in found
    }
    return dict(sorted(sums.items()))


def _text(value: Any) -> str:
    return value if isinstance(value, str) else f"{value:%Y-%m}"
