"""Several questions of a site's checklist answered at once, all of them or none."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from orders.common.errors import FieldError, Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.models import ChecklistAnswer, ChecklistQuestion, Site
from orders.sites.services.masters import checklist_answer


@dataclass(frozen=True)
class Answered:
    """What somebody found out about one question."""

    question: ChecklistQuestion
    answer: str
    stops_work: bool = False
    valid_until: date | None = None


@writing()
def checklist_answer_all(*, site: Site, answers: Iterable[Answered], stamp: Stamp) -> list[ChecklistAnswer]:
    """What is wrong with any of them refuses all, and names the question."""
    given = list(answers)
    if not given:
        raise Invalid("Nothing is answered.", [FieldError("answer", "answer one question at least", code="required")])
    return [_answered(site, one, stamp) for one in given]


def _answered(site: Site, one: Answered, stamp: Stamp) -> ChecklistAnswer:
    try:
        return checklist_answer(
            site=site,
            question=one.question,
            answer=one.answer,
            stops_work=one.stops_work,
            valid_until=one.valid_until,
            stamp=stamp,
        )
    except Invalid as no:
        named = [
            FieldError(f"{one.question.code}.{error.field}", error.message, code=error.code) for error in no.errors
        ]
        raise Invalid(f"{one.question.question} {no.detail}", named) from no
