"""Reads of sites and surveys."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean, stdev
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from orders.common.errors import FieldError, Invalid, NotFound
from orders.sites.models import (
    CalendarEvent,
    ChecklistAnswer,
    ChecklistQuestion,
    Closure,
    GrowthForm,
    Patch,
    Site,
    Species,
    Survey,
    SurveyImport,
)

COMMON_YEAR = 2001  # any year that is no leap year: month and day are counted in it


def surveys_current() -> QuerySet[Survey]:
    """The newest survey of each patch that was not voided, with its components."""
    newest = (
        Survey.objects.filter(patch=OuterRef("patch"), voided_at__isnull=True)
        .order_by("-observed_on", "-id")
        .values("pk")[:1]
    )
    return (
        Survey.objects.filter(pk=Subquery(newest))
        .select_related("patch__site__jurisdiction")
        .prefetch_related("components__species", "components__growth_form")
        .order_by("patch__site__code", "patch__code")
    )


@dataclass(frozen=True, kw_only=True)
class CalendarMean:
    """The mean day of a seasonal event at a site, and how far single years lie from it.

    `spread_days` is the sample standard deviation; None where one year alone says nothing of it.
    """

    kind: str
    month: int
    day: int
    spread_days: float | None
    years: int


def site_calendar(site: Site) -> dict[str, CalendarMean]:
    """The means of the site's own records by kind of event; a kind without records is absent."""
    days: Mapping[str, list[int]] = defaultdict(list)
    for event in CalendarEvent.objects.filter(site=site).order_by("kind", "year"):
        days[event.kind].append(_day_number(event))
    return {kind: _mean(kind, numbers) for kind, numbers in days.items()}


def _day_number(event: CalendarEvent) -> int:
    """Days since January 1 of the event's season, leap days left out, so that years compare by month and day."""
    day = event.on.day if (event.on.month, event.on.day) != (2, 29) else 28
    same_day = date(COMMON_YEAR, event.on.month, day)
    return (same_day - date(COMMON_YEAR, 1, 1)).days + 365 * (event.on.year - event.year)


def _mean(kind: str, numbers: list[int]) -> CalendarMean:
    middle = date(COMMON_YEAR, 1, 1) + timedelta(days=round(fmean(numbers)))
    spread = stdev(numbers) if len(numbers) > 1 else None
    return CalendarMean(kind=kind, month=middle.month, day=middle.day, spread_days=spread, years=len(numbers))


@dataclass(frozen=True)
class OpenQuestion:
    """A question of the checklist that keeps orders from being issued, and why."""

    question: ChecklistQuestion
    why: str


def checklist_open(site: Site, on: date) -> list[OpenQuestion]:
    """Questions not answered for the site, answered too long ago, or answered so that work stops."""
    newest = _newest_answers(ChecklistAnswer.objects.filter(site=site).order_by("id"))
    judged = [
        (question, _why_open(newest.get(question.pk), on))
        for question in ChecklistQuestion.objects.order_by("sort", "code")
    ]
    return [OpenQuestion(question, why) for question, why in judged if why]


def _newest_answers(answers: Iterable[ChecklistAnswer]) -> dict[int, ChecklistAnswer]:
    return {answer.question_id: answer for answer in answers}


def _why_open(answer: ChecklistAnswer | None, on: date) -> str:
    if answer is None:
        return "Not answered."
    if answer.valid_until is not None and answer.valid_until < on:
        return f"The answer was good until {answer.valid_until}."
    return f"Stops work: {answer.answer}" if answer.stops_work else ""


def sites() -> QuerySet[Site]:
    return Site.objects.select_related("jurisdiction").order_by("code")


def site_get(site_id: UUID) -> Site:
    found = sites().filter(public_id=site_id).first()
    if found is None:
        raise NotFound("There is no such site.")
    return found


def patches() -> QuerySet[Patch]:
    return Patch.objects.select_related("site__jurisdiction").order_by("site__code", "code")


def patch_get(patch_id: UUID) -> Patch:
    found = patches().filter(public_id=patch_id).first()
    if found is None:
        raise NotFound("There is no such patch.")
    return found


def species_all() -> QuerySet[Species]:
    return Species.objects.order_by("code")


def surveys() -> QuerySet[Survey]:
    """All of them, void ones too, with patch, site and components."""
    return (
        Survey.objects.select_related("patch__site__jurisdiction", "source")
        .defer("source__file_bytes", "source__errors", "source__warnings")
        .prefetch_related("components__species", "components__growth_form")
        .order_by("patch__site__code", "patch__code", "-observed_on", "-id")
    )


def survey_get(survey_id: UUID) -> Survey:
    found = surveys().filter(public_id=survey_id).first()
    if found is None:
        raise NotFound("There is no such survey.")
    return found


def survey_imports() -> QuerySet[SurveyImport]:
    """Newest first. The file itself stays in the database until it is asked for."""
    return SurveyImport.objects.select_related("asked_by").order_by("-id")


def survey_import_get(import_id: UUID) -> SurveyImport:
    found = survey_imports().filter(public_id=import_id).first()
    if found is None:
        raise NotFound("There is no such import.")
    return found


def growth_forms() -> QuerySet[GrowthForm]:
    return GrowthForm.objects.order_by("code")


def closures() -> QuerySet[Closure]:
    return Closure.objects.select_related("site").order_by("first_day", "id")


def calendar_events(site: Site) -> QuerySet[CalendarEvent]:
    """The site's own records of its seasons, behind the means of `site_calendar`."""
    return CalendarEvent.objects.filter(site=site).order_by("kind", "year")


def surveys_named(survey_ids: Sequence[UUID]) -> list[Survey]:
    """The surveys of these ids, in their order; one that is not there, or is void, is named."""
    found = {survey.public_id: survey for survey in surveys().filter(public_id__in=survey_ids, voided_at__isnull=True)}
    missing = [number for number, survey_id in enumerate(survey_ids) if survey_id not in found]
    if missing:
        errors = [FieldError(f"surveys[{number}]", "is no survey that counts") for number in missing]
        raise Invalid("Not all of these surveys can be used.", errors)
    return [found[survey_id] for survey_id in dict.fromkeys(survey_ids)]


def survey_newest(patch: Patch) -> Survey | None:
    """The survey that counts for a patch; None where it has none, or all are void."""
    return surveys_current().filter(patch=patch).first()


def patches_with(rows: QuerySet[Patch], species_code: str) -> QuerySet[Patch]:
    """Those of the patches where the survey that counts found a species."""
    found = surveys_current().filter(components__species__code=species_code)
    return rows.filter(pk__in=found.order_by().values("patch"))


@dataclass(frozen=True)
class QuestionState:
    """A question of the checklist with its newest answer, and what keeps it open (empty where nothing does)."""

    question: ChecklistQuestion
    answer: ChecklistAnswer | None
    open_because: str


def checklist(site: Site, on: date) -> list[QuestionState]:
    answers = ChecklistAnswer.objects.filter(site=site).select_related("answered_by").order_by("id")
    newest = _newest_answers(answers)
    return [
        QuestionState(question, newest.get(question.pk), _why_open(newest.get(question.pk), on))
        for question in ChecklistQuestion.objects.order_by("sort", "code")
    ]


def checklist_question_get(code: str) -> ChecklistQuestion:
    found = ChecklistQuestion.objects.filter(code=code).first()
    if found is None:
        raise NotFound(f"The checklist has no question {code}.")
    return found
