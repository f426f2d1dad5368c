"""The list of estimates: what may be asked of it, and the rows that answer."""

from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from django import forms
from django.db.models import Max, Q, QuerySet
from django.utils.http import urlencode

from orders.desk.forms import LABEL_CHARACTERS, asked
from orders.estimates.models import Estimate, RateBook
from orders.estimates.selectors import estimates, method_names, rate_books
from orders.reports.cells import cents_text
from orders.sites.selectors import sites

USUAL_SORT = "-made"
TURNS = ("", "-")
# column -> its heading, and what it is sorted by
COLUMNS: dict[str, tuple[str, tuple[str, ...]]] = {
    "patch": ("Patch", ("survey__patch__site__code", "survey__patch__code")),
    "method": ("Method", ("method__name",)),
    "book": ("Rate book", ("rate_book__name", "rate_book__edition")),
    "hours": ("Field person-hours", ("hours_likely",)),
    "days": ("Crew-days", ("crew_days",)),
    "cost": ("Cost", ("total_cents",)),
    "made": ("Made", ("id",)),
}
NUMBERS = ("hours", "days", "cost")
CSV_HEADINGS = (
    "site",
    "patch",
    "method",
    "crew",
    "rate book",
    "year of treatment",
    "hours low",
    "hours likely",
    "hours high",
    "paid person-hours",
    "crew-hours",
    "crew-days",
    "labor $",
    "material $",
    "equipment $",
    "mileage $",
    "total $",
    "low $",
    "high $",
    "made",
    "id",
)


@dataclass(frozen=True)
class EstimateQuestion:
    """What the list shows; all of it stands in the address."""

    q: str = ""
    site: str = ""
    method: str = ""
    book: str = ""
    crew: str = ""
    newest: bool = False
    sort: str = USUAL_SORT

    def address(self) -> str:
        """The query part of the address; what is as usual is left out."""
        said = {**vars(self), "newest": "1" if self.newest else ""}
        return f"?{urlencode({name: value for name, value in said.items() if value and value != _USUAL.get(name)})}"

    def sorted_by(self, column: str) -> "EstimateQuestion":
        """Largest and newest first, names from A; once more turns it."""
        first = f"-{column}" if column in (*NUMBERS, "made") else column
        turned = column if first.startswith("-") else f"-{column}"
        return replace(self, sort=turned if self.sort == first else first)

    @property
    def is_narrowed(self) -> bool:
        return replace(self, sort=USUAL_SORT) != EstimateQuestion()


_USUAL = {"sort": USUAL_SORT}


class EstimateListForm(forms.Form):
    """The question as it comes in an address. Choices are read when it is made."""

    q = forms.CharField(required=False, max_length=LABEL_CHARACTERS, label="Patch holds")
    crew = forms.ChoiceField(choices=[("", "All crews"), *RateBook.CREW_KINDS], required=False, label="Crew")
    newest = forms.BooleanField(required=False, label="Only the newest of each patch, method and crew")
    sort = forms.ChoiceField(choices=[(f"{turn}{name}", name) for name in COLUMNS for turn in TURNS], required=False)
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        listed: dict[str, list[tuple[str, str]]] = {
            "site": [("", "All sites"), *((row.code, row.name) for row in sites())],
            "method": [("", "All methods"), *method_names().items()],
            "book": [("", "All rate books"), *((str(row.public_id), str(row)) for row in rate_books())],
        }
        for name, choices in listed.items():
            label = "Rate book" if name == "book" else name.capitalize()
            self.fields[name] = forms.ChoiceField(choices=choices, required=False, label=label)

    def question(self) -> EstimateQuestion:
        told = asked(self)
        kept = {name: told[name] for name in ("q", "site", "method", "book", "crew", "newest")}
        return EstimateQuestion(**kept, sort=told["sort"] or USUAL_SORT)


def estimates_shown(question: EstimateQuestion) -> QuerySet[Estimate]:
    """The estimates that answer, in order, without their explanations."""
    turn = "-" if question.sort.startswith("-") else ""
    _, fields = COLUMNS[question.sort.removeprefix("-")]
    order = [f"{turn}{field}" for field in fields]
    rows = estimates().filter(_asked_for(question)).order_by(*order, "-id")
    if question.newest:
        alike = Estimate.objects.order_by().values("survey__patch", "method", "rate_book__crew_kind")
        rows = rows.filter(pk__in=alike.annotate(newest=Max("pk")).values("newest"))
    return rows.defer("inputs", "result", "survey__geometry", "survey__patch__site__boundary", "method__facts")


def _asked_for(question: EstimateQuestion) -> Q:
    wanted = {
        "survey__patch__site__code": question.site,
        "method__code": question.method,
        "rate_book__public_id": UUID(question.book) if question.book else "",
        "rate_book__crew_kind": question.crew,
    }
    found = Q(**{field: value for field, value in wanted.items() if value})
    for word in question.q.split():
        found &= (
            Q(survey__patch__code__icontains=word)
            | Q(survey__patch__site__name__icontains=word)
            | Q(survey__patch__name__icontains=word)
        )
    return found


def estimate_told(row: Estimate) -> list[str]:
    """A row of the file."""
    patch, book = row.survey.patch, row.rate_book
    named = [patch.site.code, patch.code, row.method.name, book.get_crew_kind_display(), str(book)]
    hours = (row.hours_low, row.hours_likely, row.hours_high, row.paid_person_hours, row.crew_hours)
    money = (row.labor_cents, row.material_cents, row.equipment_cents, row.mileage_cents, row.total_cents)
    return [
        *named,
        str(row.repeat_year),
        *(f"{value:.2f}" for value in hours),
        f"{row.crew_days:.3f}",
        *(cents_text(cents) for cents in (*money, row.cost_low_cents, row.cost_high_cents)),
        row.at.isoformat(),
        str(row.public_id),
    ]
