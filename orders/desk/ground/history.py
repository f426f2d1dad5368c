"""What the page of a patch tells of its past: cover over the years, the patches it came of or became, its photos."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Any
from uuid import UUID

from orders.common.models import User
from orders.desk.chart_svg import Chart
from orders.desk.charts_ground import Event, Seen, Strip, cover_history
from orders.desk.navigation import DESK
from orders.sites.lineage import ancestry, lineage, surveys_of
from orders.sites.models import Patch, PatchSuccession, Survey
from orders.sites.patch_photos import patch_photos
from orders.workorders.patch_history import WorkDone, work_done_on

PHOTOS_SHOWN = 6
KINDS = {"split": "Split", "merge": "Merged"}


def patch_history(patch: Patch, actor: User) -> dict[str, Any]:
    rows = ancestry(patch)
    family = {patch.pk, *(row.before_id for row in rows)}
    surveys = list(surveys_of(family))
    line = lineage(patch)
    photos = patch_photos(patch)
    return {
        "history": _chart(patch, surveys, work_done_on(family), [*rows, *line.became]),
        "own_surveys": [survey for survey in reversed(surveys) if survey.patch_id == patch.pk],
        "came_of": line.came_of,
        "became": line.became,
        "undo_event": _event([*line.came_of, *line.became]),
        "patch_photos": photos[:PHOTOS_SHOWN],
        "photo_count": photos.count(),
        "may_edit_patch": actor.has_role(*DESK),
    }


def _event(rows: Sequence[PatchSuccession]) -> UUID | None:
    """The newest of them: what came after it must go first."""
    return max(rows, key=lambda row: (row.at, row.pk)).event if rows else None


def _chart(
    patch: Patch, surveys: Sequence[Survey], work: Sequence[WorkDone], rows: Sequence[PatchSuccession]
) -> Chart | None:
    seen: dict[str, list[Seen]] = defaultdict(list)
    for survey in surveys:
        for part in survey.components.all():
            covers = (100 * part.cover_low, 100 * part.cover_likely, 100 * part.cover_high)
            name = f"{part.species.common_name.capitalize()}, {part.growth_form.name.lower()}"
            seen[name].append(Seen(survey.observed_on, survey.patch.code, *covers))
    events = [Event(one.day, _work_words(one), one.patch_code, True) for one in work]
    events += _successions(rows)
    if not seen:
        return None
    strips = [Strip(name, seen[name]) for name in sorted(seen)]
    return cover_history(f"Cover of {patch} over the years", strips, events, 100 * patch.target_cover)


def _work_words(one: WorkDone) -> str:
    done = "" if one.percent >= 100 else f", {one.percent}% done"
    return f"{one.method.capitalize()} (order {one.order}{done})"


def _successions(rows: Sequence[PatchSuccession]) -> list[Event]:
    """One event for each split or merge, however many patches took part."""
    events: dict[UUID, list[PatchSuccession]] = defaultdict(list)
    for row in rows:
        events[row.event].append(row)
    return [
        Event(
            held[0].on,
            f"{KINDS[held[0].kind]} into {_codes(row.after for row in held)}",
            _codes(row.before for row in held),
            False,
        )
        for held in events.values()
    ]


def _codes(patches: Any) -> str:
    return ", ".join(dict.fromkeys(patch.code for patch in patches))
