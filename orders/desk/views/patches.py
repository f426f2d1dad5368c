"""Patches: the list with what is recommended and chosen, and one patch with every method side by side."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from estimating.labels import Finding
from estimating.outlook import EFFECT_SHOWS_AFTER_MONTHS, EFFECT_SOURCE, HELD_BY_REPEATED_WORK, HELD_SOURCE
from estimating.outlook import KILL_COMPLETE_AFTER_MONTHS as COMPLETE_MONTHS
from orders import flow
from orders.common.clock import now
from orders.common.models import User
from orders.common.stamp import Stamp
from orders.desk.cautions import DECIDES
from orders.desk.chart_svg import Chart
from orders.desk.charts import Series, lines
from orders.desk.ground.history import patch_history
from orders.desk.list_rows import PATCHES
from orders.desk.listed import file_asked
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.patch_list import HEADINGS, NUMBERS, PatchListForm, PatchListQuestion
from orders.desk.patch_shape import patch_shape
from orders.desk.views.pages import page
from orders.planning.options import Course, MethodOption, PatchOptions
from orders.planning.overview import PatchLine
from orders.sites.models import Patch
from orders.sites.selectors import patch_get, survey_newest
from orders.workorders.label_checks import label_findings_for

ROWS_A_PAGE = 50
LINES_AT_ONCE = 1000
WHAT = "The page of patches"
HELD_TEXT = {"text": HELD_BY_REPEATED_WORK, "source": HELD_SOURCE}


@dataclass(frozen=True)
class Column:
    heading: str
    address: str
    sorted: str  # for aria-sort; empty where the rows are not sorted by it
    is_number: bool


@dataclass(frozen=True)
class Shown:
    """One method with what the label says of its mix."""

    option: MethodOption
    label: tuple[Finding, ...]

    @property
    def forbids(self) -> bool:
        return any(not finding.overridable for finding in self.label)

    @property
    def may_choose(self) -> bool:
        option = self.option
        return option.fits == "yes" and bool(option.estimate and option.days and not option.chosen) and not self.forbids

    @property
    def label_word(self) -> tuple[str, str]:
        """The class of its mark, empty for none, and what the label says of the mix in a word or two."""
        if not self.option.facts.uses_herbicide:
            return "", "no label"
        if self.option.estimate is None or self.option.estimate.mix_id is None:
            return "", "not asked: no mix"
        if not self.label:
            return "state-good", "nothing against it"
        return ("state-bad", "forbids it") if self.forbids else ("state-wait", "needs a reason")


def today_of(actor: User) -> date:
    """The program's own day."""
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)


@require_safe
@page
def patch_list_page(request: HttpRequest, actor: User) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today = today_of(actor)
    form = PatchListForm(request.GET, today=today)
    question = form.question()
    found = flow.patches_asked(question=question.patches, season=question.season, on=today)
    if file_asked(request):
        return PATCHES.reply(_in_parts(found))
    rows = Paginator(found, ROWS_A_PAGE).get_page(form.cleaned_data["page"] or 1)
    told = {
        "question": question,
        "asked_fields": [form[name] for name in ("text", "site", "recommended", "form", "control_state", "chosen")],
        "season_field": _season_field(form, question),
        "columns": [_column(question, name) for name in HEADINGS],
        "rows": rows,
        "may_choose": actor.has_role(*DESK) and question.season is not None,
        "may_draw": actor.has_role(*DESK),
    }
    return render(request, "desk/patches.html", told)


def _in_parts(found: Sequence[PatchLine]) -> Iterator[PatchLine]:
    """Of thousands only some stand in memory at once."""
    for first in range(0, len(found), LINES_AT_ONCE):
        yield from found[first : first + LINES_AT_ONCE]


def _season_field(form: PatchListForm, question: PatchListQuestion) -> list[tuple[str, str, bool]]:
    """Id, name, and whether it is shown: the usual season is shown without being in the address."""
    return [(str(row.public_id), row.name, row == question.season) for row in form.seasons]


def _column(question: PatchListQuestion, name: str) -> Column:
    sort = question.patches.sort
    direction = "descending" if sort.startswith("-") else "ascending"
    is_sorted = sort.removeprefix("-") == name
    return Column(HEADINGS[name], question.sorted_by(name).address(), direction if is_sorted else "", name in NUMBERS)


@require_safe
@page
def patch_page(request: HttpRequest, actor: User, patch_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    today = today_of(actor)
    patch = patch_get(patch_id)
    form = PatchListForm(request.GET, today=today)
    question = form.question()
    told: dict[str, Any] = {
        "patch": patch,
        "question": question,
        "season_field": _season_field(form, question),
        "may_choose": actor.has_role(*DESK) and question.season is not None,
    }
    told |= patch_history(patch, actor)
    if survey_newest(patch) is not None:
        told |= _told(patch, question, today)
    return render(request, "desk/patch.html", told)


def _told(patch: Patch, question: PatchListQuestion, today: date) -> dict[str, Any]:
    season = question.season
    found = flow.methods_side_by_side(patch=patch, season=season, on=today)
    findings = label_findings_for([option.estimate for option in found.options if option.estimate], on=today)
    survey = found.line.survey
    shown = [_shown(option, findings) for option in found.options]
    return {
        "found": found,
        "survey": survey,
        "components": list(survey.components.all()),
        "shape": patch_shape(survey.geometry, f"Outline of {patch}, north up"),
        "shown": shown,
        "fitting": [entry for entry in shown if entry.option.fits != "no"],
        "unfit": [entry for entry in shown if entry.option.fits == "no"],
        "leading": _leading(found),
        "chart": _chart(found),
        "years_asked": range(1, len(found.years)),
        "one_pass": season and flow.worked_in_one_pass(patch=patch, season=season, on=today),
        "held": HELD_TEXT,
        "effect": {"shows": EFFECT_SHOWS_AFTER_MONTHS, "complete": COMPLETE_MONTHS, "source": EFFECT_SOURCE},
        "decides": DECIDES,
    }


def _shown(option: MethodOption, findings: Mapping[int, tuple[Finding, ...]]) -> Shown:
    return Shown(option, findings.get(option.estimate.pk, ()) if option.estimate else ())


def _leading(found: PatchOptions) -> MethodOption | None:
    """What the outlook is drawn for: what is chosen, else what is recommended first, if its cover can be told."""
    drawn = [option for option in found.options if option.method.code in found.kept_up]
    chosen = [option for option in drawn if option.chosen]
    recommended = [option for option in drawn if option.is_recommended]
    return next(iter([*chosen, *recommended, *drawn]), None)


def _chart(found: PatchOptions) -> Chart | None:
    leading = _leading(found)
    if leading is None:
        return None
    code, name = leading.method.code, leading.method.name
    series: list[Series] = [
        _series("every year", found.kept_up[code]),
        _series("once, in year 1", found.once[code]),
        ("no treatment", None, _percents(found.untreated.likely), None),
    ]
    title = f"Expected cover of {found.line.patch} under {name}"
    return lines(title, [f"year {year}" for year in found.years], series, "%", 100 * found.line.patch.target_cover)


def _series(label: str, course: Course) -> Series:
    return label, _percents(course.low), _percents(course.likely), _percents(course.high)


def _percents(shares: tuple[float, ...]) -> list[float]:
    return [100 * share for share in shares]
