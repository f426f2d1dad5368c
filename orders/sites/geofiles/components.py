"""Components of one survey, judged together with their patch: areas, cover, doubles."""

from collections.abc import Sequence

from estimating.areas import MINIMUM_MAPPED_M2, infested_area_m2
from orders.sites.geofiles.drafts import ComponentDraft
from orders.sites.geofiles.records import UNKNOWN, SurveyComponent

ERADICATED = "eradicated"
# An infested area may come out a little above the gross one, measured by other software in a plane instead of on the
# ellipsoid: in UTM areas differ by up to 0.1% or so (computed). 1% lets that pass, and no more.
AREA_TOLERANCE = 0.01


def settled(draft: ComponentDraft, area_m2: float, control_state: str | None) -> SurveyComponent | None:
    """The component with its infested area, or None after noting what is wrong."""
    infested_m2 = _infested_m2(draft, area_m2, control_state)
    if infested_m2 is None or not _state_agrees(draft, infested_m2, control_state):
        return None
    if not _cover_is_told(draft, infested_m2) or not draft.species_code or not draft.growth_form:
        return None
    return SurveyComponent(
        species_code=draft.species_code,
        growth_form=draft.growth_form,
        infested_area_m2=infested_m2,
        infested_percent=100 * infested_m2 / area_m2,
        cover_percent=draft.cover_percent,
        cover_class=draft.cover_class,
        cover_scheme=draft.cover_scheme if draft.cover_class else None,
        stems_small=draft.stems_small,
        stems_medium=draft.stems_medium,
        stems_large=draft.stems_large,
        height_m=draft.height_m,
        cut_height_m=draft.cut_height_m,
        host_trees=draft.host_trees,
        fertile=draft.fertile or UNKNOWN,
        reproductive_condition=draft.reproductive_condition or "unknown",
    )


def note_doubles(drafts: Sequence[ComponentDraft]) -> None:
    """The same species in the same form twice in one survey: an error of the later one, wherever it stands."""
    rows: dict[tuple[str, str], int] = {}
    for draft in drafts:
        if not draft.species_code or not draft.growth_form:
            continue
        what = (draft.species_code, draft.growth_form)
        if what in rows:
            reason = f"{', '.join(what)} stands already in row {rows[what]} for this patch and date"
            draft.cells.error("species", "duplicate", reason)
        rows.setdefault(what, draft.cells.notes.row.number)


def _infested_m2(draft: ComponentDraft, area_m2: float, control_state: str | None) -> float | None:
    """By area or by percent, whichever is given; all of the patch where neither is, none where it is eradicated."""
    if draft.cells.is_given("infested_area_m2"):
        return _by_area_m2(draft, area_m2)
    if draft.cells.is_given("infested_percent"):
        return _by_percent_m2(draft, area_m2)
    return 0.0 if control_state == ERADICATED else area_m2


def _by_area_m2(draft: ComponentDraft, area_m2: float) -> float | None:
    infested_m2 = draft.infested_area_m2
    if infested_m2 is None:
        return None
    if infested_m2 > area_m2 * (1 + AREA_TOLERANCE):
        draft.cells.error(
            "infested_area_m2",
            "infested_over_gross",
            f"{infested_m2:,.1f} m² is more than the patch's own {area_m2:,.1f} m²; "
            f"{AREA_TOLERANCE:.0%} over is let pass, for areas that were measured in a plane",
        )
        return None
    by_percent_m2 = _by_percent_m2(draft, area_m2)
    if by_percent_m2 is not None and abs(infested_m2 - by_percent_m2) > AREA_TOLERANCE * area_m2:
        draft.cells.error(
            "infested_percent",
            "infested_disagrees",
            f"comes to {by_percent_m2:,.1f} m², but infested_area_m2 says {infested_m2:,.1f} m²",
        )
        return None
    return min(infested_m2, area_m2)


def _by_percent_m2(draft: ComponentDraft, area_m2: float) -> float | None:
    percent = draft.infested_percent
    if percent is None:
        return None
    if area_m2 <= MINIMUM_MAPPED_M2 and 0 < percent < 100:
        # The Forest Service's guide counts so small an outline as wholly infested (see estimating.areas), but it maps
        # one species at a time; a climber on two trees of a small patch is a true observation, so it is kept.
        draft.cells.notes.warn(
            f"infested_percent{draft.cells.suffix}",
            "small_patch_percent",
            "A patch of 0.1 acre or less usually counts as wholly infested; the percent was kept as given.",
        )
    return infested_area_m2(area_m2, percent)


def _state_agrees(draft: ComponentDraft, infested_m2: float, control_state: str | None) -> bool:
    """Nothing infested and eradicated go together, both ways."""
    if (infested_m2 == 0) == (control_state == ERADICATED):
        return True
    field = "infested_area_m2" if draft.cells.is_given("infested_area_m2") else "infested_percent"
    if infested_m2 == 0:
        draft.cells.error(
            field,
            "zero_without_eradicated",
            "0 is for a patch that a later visit found gone: its control_state must say eradicated",
        )
    else:
        draft.cells.error(field, "infested_though_eradicated", "is more than 0, but control_state says eradicated")
    return False


def _cover_is_told(draft: ComponentDraft, infested_m2: float) -> bool:
    """Cover by percent or by class of a scheme, not both; nothing infested needs none."""
    cells = draft.cells
    by_percent, by_class = cells.is_given("cover_percent"), cells.is_given("cover_class")
    if by_percent and by_class:
        cells.error("cover_class", "cover_twice", "cover is given by percent and by class; give one")
        return False
    if not by_percent and not by_class:
        if infested_m2 > 0:
            cells.error("cover_percent", "missing", "is needed, or cover_class with cover_scheme; both are blank")
        return infested_m2 == 0
    if by_class and not cells.is_given("cover_scheme"):
        cells.error("cover_scheme", "missing", "is needed where cover_class is given")
    return draft.cover_percent is not None or draft.cover_class is not None
