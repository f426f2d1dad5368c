"""The recommended prescriptions of a season: which method, in which window, and why."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.planning.chains import follow_ups_prescribe
from orders.planning.choosing import choice_batch_make
from orders.planning.models import ChoiceBatch, Prescription, Season
from orders.planning.preview import RECOMMENDED, ChoiceAsk, ChoiceRow, LabelWord, Preview, choice_rows, preview_of
from orders.planning.renewing import windows_renew
from orders.planning.terms import SeasonTerms
from orders.planning.windows import SeasonWindows
from orders.sites.selectors import surveys_current

WHOLE_SEASON = "the whole season"


def recommended_rest(season: Season, repeat_years: Mapping[int, int], label_word: LabelWord | None = None) -> Preview:
    """What is recommended and not asked for in the season yet, everywhere; a patch where a person chose something else
    is left to that. Stores nothing."""
    patches = [survey.patch for survey in surveys_current().defer("geometry")]
    ask = ChoiceAsk(season=season, method=RECOMMENDED, patches=patches, replace=False, asked=WHOLE_SEASON)
    return preview_of(ask, tuple(_unasked(row) for row in choice_rows(ask, repeat_years, label_word)))


def _unasked(row: ChoiceRow) -> ChoiceRow:
    """Work that is done in this season, or was passed over by a person, is not asked for again."""
    chosen = [one for one in row.line.chosen if one.origin != "follow_up"]
    decided = any(one.is_own_choice or one.method.code == row.code for one in chosen)
    return replace(row, stands=True, refused="") if decided else row


@writing()
def prescribe_recommended(
    *, season: Season, repeat_years: Mapping[int, int], label_word: LabelWord | None = None, stamp: Stamp
) -> list[Prescription]:
    """One prescription for each method that is recommended on a patch and not asked for there yet, kept together as a
    choice that can be put back, and what follows the season's work in chains.

    Windows of what is asked for already are brought up to date. A patch whose recommendation waits for the survey, has
    no estimate or no open window, or is forbidden by a label, is left alone; the preview says why.
    """
    windows = SeasonWindows(season)
    windows_renew(terms=SeasonTerms(windows), stamp=stamp)
    preview = recommended_rest(season, repeat_years, label_word)
    made = _made(choice_batch_make(preview=preview, stamp=stamp)) if preview.new else []
    return [*made, *follow_ups_prescribe(season=season, windows=windows, stamp=stamp)]


def _made(batch: ChoiceBatch) -> list[Prescription]:
    return [part.prescription for part in batch.parts.select_related("prescription__patch__site").order_by("id")]


def choice_holding(made: Sequence[Prescription]) -> ChoiceBatch | None:
    """The choice that holds what was just made; None where nothing new was."""
    found = ChoiceBatch.objects.filter(parts__prescription__in=made).order_by("-id")
    return found.first()
