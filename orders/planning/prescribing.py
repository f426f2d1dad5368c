"""The recommended prescriptions of a season: which method, in which window, and why."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from uuid import UUID

from django.db.models import QuerySet

from orders.common.changes import change_record
from orders.common.errors import NotFound
from orders.common.models.run import QUEUED, RUNNING
from orders.common.runs import run_wake
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.chains import follow_ups_prescribe
from orders.planning.choosing import choice_batch_make
from orders.planning.models import ChoiceBatch, Prescription, Season, SeasonPrescribeRun
from orders.planning.preview import RECOMMENDED, ChoiceAsk, ChoiceRow, LabelWord, Preview, choice_rows, preview_of
from orders.planning.renewing import windows_renew
from orders.planning.selectors import patches_keyed
from orders.planning.terms import SeasonTerms
from orders.planning.windows import SeasonWindows
from orders.sites.selectors import surveys_current

WHOLE_SEASON = "the whole season"
PATCHES_AT_ONCE = 500


def recommended_rest(
    season: Season,
    repeat_years: Mapping[int, int],
    label_word: LabelWord | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Preview:
    """What is recommended and not asked for in the season yet, everywhere; a patch where a person chose something else
    is left to that. Some patches at a time, with word of how many are looked at. Stores nothing."""
    patches = list(patches_keyed(surveys_current().order_by().values("patch")))
    ask = ChoiceAsk(season=season, method=RECOMMENDED, patches=patches, replace=False, rest=True, asked=WHOLE_SEASON)
    rows: list[ChoiceRow] = []
    for first in range(0, len(patches), PATCHES_AT_ONCE):
        lot = replace(ask, patches=patches[first : first + PATCHES_AT_ONCE])
        rows += choice_rows(lot, repeat_years, label_word)
        if progress is not None:
            progress(min(first + PATCHES_AT_ONCE, len(patches)), len(patches))
    return preview_of(ask, tuple(rows))


@writing()
def prescribe_recommended(
    *,
    season: Season,
    repeat_years: Mapping[int, int],
    label_word: LabelWord | None = None,
    seen: Preview | None = None,
    stamp: Stamp,
) -> list[Prescription]:
    """One prescription for each method that is recommended on a patch and not asked for there yet, kept together as a
    choice that can be put back, and what follows the season's work in chains.

    Windows of what is asked for already are brought up to date. A patch whose recommendation waits for the survey, has
    no estimate or no open window, or is forbidden by a label, is left alone; the preview says why. `seen` is that
    preview where it was made already and nothing was written since.
    """
    windows = SeasonWindows(season)
    windows_renew(terms=SeasonTerms(windows), stamp=stamp)
    preview = seen or recommended_rest(season, repeat_years, label_word)
    made = _made(choice_batch_make(preview=preview, stamp=stamp)) if preview.new else []
    return [*made, *follow_ups_prescribe(season=season, windows=windows, stamp=stamp)]


@writing()
def season_prescribe_ask(
    *, season: Season, purpose: str, stamp: Stamp, public_id: UUID | None = None
) -> SeasonPrescribeRun:
    """The row is the job; a worker is woken after the commit. One of the season that is asked for or at work already is
    not asked for twice."""
    standing = SeasonPrescribeRun.objects.filter(season=season, purpose=purpose, state__in=[QUEUED, RUNNING])
    if found := standing.filter(cancel_asked=False).order_by("-id").first():
        return found
    named = {} if public_id is None else {"public_id": public_id}
    run = SeasonPrescribeRun.objects.create(
        season=season, purpose=purpose, asked_by=stamp.by, asked_at=stamp.at, **named
    )
    change_record(stamp=stamp, verb="season_prescribe_ask", entity=run, after={"season": season.name, "for": purpose})
    run_wake(run)
    return run


def season_prescribe_runs(season: Season | None = None) -> QuerySet[SeasonPrescribeRun]:
    rows = SeasonPrescribeRun.objects.select_related("season", "asked_by", "choice").order_by("-id")
    return rows if season is None else rows.filter(season=season)


def season_prescribe_run_get(run_id: UUID) -> SeasonPrescribeRun:
    found = season_prescribe_runs().filter(public_id=run_id).first()
    if found is None:
        raise NotFound("There is no such run of a season.")
    return found


def _made(batch: ChoiceBatch) -> list[Prescription]:
    return [part.prescription for part in batch.parts.select_related("prescription__patch__site").order_by("id")]


def choice_holding(made: Sequence[Prescription]) -> ChoiceBatch | None:
    """The choice that holds what was just made; None where nothing new was."""
    found = ChoiceBatch.objects.filter(parts__prescription__in=made).order_by("-id")
    return found.first()
