"""Reads of sites and surveys."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from estimating.season_calendar import CalendarDay, calendar_from_years
from orders.common.errors import FieldError, Invalid, NotFound
from orders.sites.models import (
    CalendarEvent,
    ChecklistAnswer,
    ChecklistQuestion,
    Closure,
    GrowthForm,
    Jurisdiction,
    Patch,
    Site,
    Species,
    Survey,
    SurveyImport,
)


def surveys_current() -> QuerySet[Survey]:
    """The newest survey of each patch that was not voided, with its components; of no patch that others replaced."""
    newest = (
        Survey.objects.filter(patch=OuterRef("patch"), voided_at__isnull=True)
        .order_by("-observed_on", "-id")
        .values("pk")[:1]
    )
    return (
        Survey.objects.filter(pk=Subquery(newest), patch__ended_on__isnull=True)
        .select_related("patch__site__jurisdiction")
        .prefetch_related("components__species", "components__growth_form")
        .order_by("patch__site__code", "patch__code")
    )


@dataclass(frozen=True)
class CalendarMean:
    """The mean day of a seasonal event at a site, and how far single years lie from it.

    `spread_days` is the sample standard deviation; None where one year alone says nothing of it.
    """

    kind: str
    figure: CalendarDay

    @property
    def month(self) -> int:
        return self.figure.month

    @property
    def day(self) -> int:
        return self.figure.day

    @property
    def years(self) -> int:
        return self.figure.years or 0

    @property
    def spread_days(self) -> float | None:
        return self.figure.spread_days if self.years > 1 else None


def site_calendar(site: Site) -> dict[str, CalendarMean]:
    """The means of the site's own records by kind of event; a kind without records is absent."""
    return site_calendars([site.pk]).get(site.pk, {})


def site_calendars(site_ids: Iterable[int]) -> dict[int, dict[str, CalendarMean]]:
    """The same for many sites, by their keys."""
    days: dict[tuple[int, str], dict[int, date]] = defaultdict(dict)
    for event in CalendarEvent.objects.filter(site__in=list(site_ids)).order_by("site_id", "kind", "year"):
        days[event.site_id, event.kind][event.year] = event.on
    means: dict[int, dict[str, CalendarMean]] = defaultdict(dict)
    for (site_id, kind), records in days.items():
        means[site_id][kind] = CalendarMean(kind, calendar_from_years(records))
    return dict(means)


@dataclass(frozen=True)
class OpenQuestion:
    """A question of the checklist that keeps orders from being issued, and why."""

    question: ChecklistQuestion
    why: str


def questions_asked() -> QuerySet[ChecklistQuestion]:
    """Those in use, in their order."""
    return ChecklistQuestion.objects.filter(is_active=True).order_by("sort", "code")


def checklist_open(site: Site, on: date) -> list[OpenQuestion]:
    """Questions not answered for the site, answered too long ago, or answered so that work stops."""
    newest = _newest_answers(ChecklistAnswer.objects.filter(site=site).order_by("id"))
    judged = [(question, _why_open(newest.get(question.pk), on)) for question in questions_asked()]
    return [OpenQuestion(question, why) for question, why in judged if why]


def questions_open(days: Mapping[int, date]) -> dict[int, int]:
    """How many questions are open at each site, by its key, on the day that is its own."""
    questions = list(questions_asked())
    answers: dict[int, list[ChecklistAnswer]] = defaultdict(list)
    for answer in ChecklistAnswer.objects.filter(site__in=list(days)).order_by("id"):
        answers[answer.site_id].append(answer)
    newest = {site_id: _newest_answers(answers[site_id]) for site_id in days}
    return {
        site_id: sum(bool(_why_open(newest[site_id].get(question.pk), on)) for question in questions)
        for site_id, on in days.items()
    }


def _newest_answers(answers: Iterable[ChecklistAnswer]) -> dict[int, ChecklistAnswer]:
    return {answer.question_id: answer for answer in answers}


def _why_open(answer: ChecklistAnswer | None, on: date) -> str:
    if answer is None:
        return "Not answered."
    if answer.valid_until is not None and answer.valid_until < on:
        return f"The answer was good until {answer.valid_until}."
    return f"Stops work: {answer.answer}" if answer.stops_work else ""


def jurisdictions() -> QuerySet[Jurisdiction]:
    return Jurisdiction.objects.order_by("name")


def jurisdictions_offered() -> QuerySet[Jurisdiction]:
    """Those in use: where something new may lie or hold."""
    return jurisdictions().filter(is_active=True)


def jurisdiction_by_code(code: str) -> Jurisdiction:
    found = Jurisdiction.objects.filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no jurisdiction {code}.")
    return found


def sites() -> QuerySet[Site]:
    return Site.objects.select_related("jurisdiction").order_by("code")


def site_get(site_id: UUID) -> Site:
    found = sites().filter(public_id=site_id).first()
    if found is None:
        raise NotFound("There is no such site.")
    return found


def sites_named(site_ids: Sequence[UUID]) -> list[Site]:
    """The sites of these ids; one that is not there is named."""
    found = {site.public_id: site for site in sites().filter(public_id__in=site_ids)}
    missing = [number for number, site_id in enumerate(site_ids) if site_id not in found]
    if missing:
        raise Invalid(
            "Not all of these sites are there.", [FieldError(f"sites[{number}]", "is no site") for number in missing]
        )
    return [found[site_id] for site_id in dict.fromkeys(site_ids)]


def patches() -> QuerySet[Patch]:
    return Patch.objects.select_related("site__jurisdiction").order_by("site__code", "code")


def patch_get(patch_id: UUID) -> Patch:
    found = patches().filter(public_id=patch_id).first()
    if found is None:
        raise NotFound("There is no such patch.")
    return found


def species_all() -> QuerySet[Species]:
    return Species.objects.order_by("code")


def species_offered() -> QuerySet[Species]:
    """To choose from for new work; a file may name the others all the same, since it says what was seen."""
    return species_all().filter(is_active=True)


def species_get(species_id: UUID) -> Species:
    found = species_all().filter(public_id=species_id).first()
    if found is None:
        raise NotFound("There is no such species.")
    return found


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


def closure_get(closure_id: UUID) -> Closure:
    found = closures().filter(public_id=closure_id).first()
    if found is None:
        raise NotFound("There is no such closure.")
    return found


def calendar_events(site: Site) -> QuerySet[CalendarEvent]:
    """The site's own records of its seasons, behind the means of `site_calendar`."""
    return CalendarEvent.objects.filter(site=site).order_by("kind", "year")


def calendar_event_get(event_id: UUID) -> CalendarEvent:
    found = CalendarEvent.objects.select_related("site__jurisdiction").filter(public_id=event_id).first()
    if found is None:
        raise NotFound("There is no such record.")
    return found


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
    return checklists({site.pk: on})[site.pk]


def checklists(days: Mapping[int, date]) -> dict[int, list[QuestionState]]:
    """The same for many sites, by their keys, each on the day that is its own."""
    questions = list(questions_asked())
    answers: dict[int, list[ChecklistAnswer]] = defaultdict(list)
    rows = ChecklistAnswer.objects.filter(site__in=list(days)).select_related("answered_by").order_by("id")
    for answer in rows:
        answers[answer.site_id].append(answer)
    newest = {site_id: _newest_answers(answers[site_id]) for site_id in days}
    return {
        site_id: [
            QuestionState(question, found.get(question.pk), _why_open(found.get(question.pk), days[site_id]))
            for question in questions
        ]
        for site_id, found in newest.items()
    }


def checklist_question_get(code: str) -> ChecklistQuestion:
    found = ChecklistQuestion.objects.filter(code=code).first()
    if found is None:
        raise NotFound(f"The checklist has no question {code}.")
    return found
