"""The whole form of a close-out from paper: its parts read together into one statement."""

from collections.abc import Sequence
from typing import Any

from django.http import QueryDict

from orders.common.errors import FieldError, Refusal
from orders.crews.selectors import crew_people, people
from orders.desk.dispatch.paper_forms import (
    EVENING,
    HeadForm,
    MaterialForm,
    OutcomeForm,
    TimeForm,
    materials_stand,
    times_stand,
)
from orders.planning.models import Visit
from orders.supplies.selectors import lots
from orders.workorders.models import CloseOut, WorkOrder
from orders.workorders.selectors import close_outs, order_prescriptions, order_visits
from orders.workorders.statements import Outcome, Statement

BLANK_ROWS = 3
MOST_ROWS = 200
PARTS = {"outcomes": "Patch", "times": "Hours", "materials": "Material"}


class PaperClose:
    """`standing`: the close-out that is stated anew; None for a first one."""

    def __init__(self, order: WorkOrder, standing: CloseOut | None, sent: QueryDict | None = None) -> None:
        self.order, self.sent = order, sent
        self.standing = close_outs(order).get(pk=standing.pk) if standing else None
        self.asked = list(order_prescriptions(order).select_related("patch__site"))
        self.visits = [visit for visit in order_visits(order) if visit.state != "dropped"]
        self.zone = order.site.time_zone
        self.head = HeadForm(sent, prefix="head", amends=standing is not None, initial=self._head())
        was = {row.prescription_id: row for row in self.standing.outcomes.all()} if self.standing else {}
        self.was = {
            key: Outcome(row.prescription.public_id, row.percent_complete, row.stems_cut, row.area_done_m2, row.drawn)
            for key, row in was.items()
        }
        self.outcomes = [
            (row, OutcomeForm(sent, prefix=f"work-{number}", initial=self._outcome(row.pk)))
            for number, row in enumerate(self.asked)
        ]
        choices = self._choices()
        stand = self.standing
        self.times = self._rows(TimeForm, "time", times_stand(stand) if stand else self._people(), choices)
        self.materials = self._rows(MaterialForm, "use", materials_stand(stand) if stand else [], choices)

    def _head(self) -> dict[str, Any]:
        if self.standing is not None:
            return HeadForm.stands(self.standing, self.zone)
        return {"work_date": self.order.last_day, "signed_at": EVENING}

    def _outcome(self, key: int) -> dict[str, Any]:
        was = self.was.get(key)
        return {"percent": was.percent_complete, "stems": was.stems_cut} if was else {}

    def _people(self) -> list[dict[str, Any]]:
        """A row for each person of the crew on each visit, its hours left to be read off the paper."""
        return [
            {"visit": str(visit.public_id), "person": str(person.public_id)}
            for visit in self.visits
            if visit.state == "ordered"
            for person in crew_people(visit.crew, visit.day)
        ]

    def _choices(self) -> dict[str, list[tuple[str, str]]]:
        listed = people().filter(is_active=True)
        stated = [row.person for row in self.standing.time_entries.all()] if self.standing else []
        named = {str(person.public_id): person.name for person in (*listed, *stated)}
        work = [(str(row.public_id), f"{row.patch.code}, {row.method.name}") for row in self.asked]
        return {
            "visit": [(str(visit.public_id), _visit_words(visit)) for visit in self.visits],
            "person": [("", "—"), *sorted(named.items(), key=lambda pair: pair[1])],
            "lot": [("", "—"), *((str(lot.public_id), f"{lot.product.name}, lot {lot.lot_number}") for lot in lots())],
            "work": [("", "all of it"), *work],
        }

    def _rows(self, kind: type[Any], name: str, stand: Sequence[dict[str, Any]], choices: Any) -> list[Any]:
        """As many as stand and a few empty ones; `more` asks for more."""
        count = len(stand) + BLANK_ROWS
        if self.sent is not None:
            told = self.sent.get(f"{name}s", "")
            count = min(int(told), MOST_ROWS) if told.isdigit() else count
        sent = self.sent
        if sent is not None and sent.get("more") == name:
            count = min(count + BLANK_ROWS, MOST_ROWS)
        initial = [*stand, *({} for _ in range(count - len(stand)))][:count]
        return [
            kind(self._sent_row(f"{name}-{number}"), prefix=f"{name}-{number}", choices=choices, initial=row)
            for number, row in enumerate(initial)
        ]

    def _sent_row(self, prefix: str) -> QueryDict | None:
        """None for a row that was not on the page yet."""
        return self.sent if self.sent is not None and f"{prefix}-visit" in self.sent else None

    @property
    def wants_more(self) -> bool:
        return self.sent is not None and "more" in self.sent

    def is_valid(self) -> bool:
        forms = [self.head, *(form for _, form in self.outcomes), *self._sent_rows()]
        return all(form.is_valid() for form in forms)

    def _sent_rows(self) -> list[Any]:
        return [form for form in (*self.times, *self.materials) if form.is_bound]

    @property
    def is_wrong(self) -> bool:
        return self.sent is not None and not self.wants_more and not self.is_valid()

    def statement(self) -> Statement:
        told = self.head.cleaned_data
        stated = self.standing.weather if self.standing else {}
        return Statement(
            work_date=told["work_date"],
            happened_at=self.head.moment(self.zone),
            confirmed_by=told["confirmed_by"],
            outcomes=tuple(form.stated(row.public_id, self.was.get(row.pk)) for row, form in self.outcomes),
            times=tuple(form.stated() for form in self._said(self.times)),
            materials=tuple(form.stated() for form in self._said(self.materials)),
            condition=told["condition"],
            weather=self.head.weather(stated),
            follow_up_wanted=told["follow_up_wanted"],
            notes=told["notes"],
        )

    @staticmethod
    def _said(rows: list[Any]) -> list[Any]:
        return [form for form in rows if form.is_bound and form.is_said]

    def told(self, refusal: Refusal) -> Refusal:
        """The refusal with the rows as this page numbers them, those left empty counted."""
        places = {"times": self.times, "materials": self.materials}
        numbers = {name: [rows.index(form) + 1 for form in self._said(rows)] for name, rows in places.items()}
        refusal.errors = [_named(error, numbers) for error in refusal.errors]
        return refusal


def _named(error: FieldError, numbers: dict[str, list[int]]) -> FieldError:
    part = error.field.partition(".")[0]
    if error.row is None or part not in PARTS:
        return error
    row = numbers[part][error.row - 1] if part in numbers else error.row
    return FieldError(error.field, f"{PARTS[part]}, row {row}: {error.message}", row, error.code)


def _visit_words(visit: Visit) -> str:
    return f"{visit.day:%b} {visit.day.day}"
