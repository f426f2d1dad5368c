"""Patches that others replace: one split into pieces, several joined into one, and both taken back.

Surveys follow from the newest ones, since nobody went out for them; they say so in their notes. The patches before end
and keep all that is known of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from string import ascii_lowercase
from uuid import UUID, uuid4

import shapely
from shapely.geometry.base import BaseGeometry

from orders.common.changes import change_record, version_bump
from orders.common.errors import FieldError, WrongState
from orders.common.rows import Findings
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.sites.cutting import AREAS, NOT_CUT
from orders.sites.geofiles.areas import geodesic_area_m2
from orders.sites.geofiles.drafts import CODE_CHARACTERS
from orders.sites.lineage import made_by, succession_of
from orders.sites.models import Patch, PatchSuccession, Survey
from orders.sites.overlaps import SLIVER_M2, SLIVER_SHARE
from orders.sites.selectors import surveys_current
from orders.sites.services.reasons import reason_check
from orders.sites.services.survey_writes import patch_write, survey_write
from orders.sites.services.surveys import survey_void
from orders.sites.sharing import Made, put_together, shape_of, shared_out

NOT_JOINED = "The patches cannot be merged."
MOST_MERGED = 26
# Of patches that are not in the same state: the one that leaves most to do.
STATE_ORDER = ("under_treatment", "untreated", "maintenance", "eradicated")


@dataclass(frozen=True)
class Piece:
    """A patch to be: its code, and its outline within the patch that is split."""

    code: str
    outline: BaseGeometry


@dataclass(frozen=True)
class Succession:
    """One split or merge: the patches that ended and those in their place."""

    event: UUID
    kind: str
    before: tuple[Patch, ...]
    after: tuple[Patch, ...]


@writing()
def patch_split(*, patch: Patch, pieces: Sequence[Piece], stamp: Stamp) -> Succession:
    """End a patch and put its pieces in its place. Pieces of one code become one patch."""
    reason_check(stamp, NOT_CUT)
    survey = newest_of([patch], NOT_CUT)[0]
    whole = _gathered(pieces)
    _codes_check(patch, [piece.code for piece in whole], NOT_CUT)
    _pieces_check(shape_of(survey), whole)
    said = {"patch_name": patch.name, "target_cover_percent": _percent(patch.target_cover)}
    said |= {"control_state": patch.control_state}
    how = "areas, stems and host trees shared by area, not seen anew."
    note = f"Came of splitting {patch} on {_today(patch, stamp)}: {how}"
    made = shared_out(survey, [(piece.code, piece.outline) for piece in whole], note)
    after = [_patch_of(one, patch, said, stamp) for one in made]
    return _succeed("split", [patch], after, stamp)


@writing()
def patch_merge(*, patches: Sequence[Patch], code: str, name: str = "", stamp: Stamp) -> Succession:
    """End several patches of one site and put one in their place: outlines joined, surveys put together."""
    reason_check(stamp, NOT_JOINED)
    _together_check(patches)
    surveys = newest_of(patches, NOT_JOINED)
    first = patches[0]
    _codes_check(first, [code.strip()], NOT_JOINED)
    said = {
        "patch_name": name.strip(),
        "target_cover_percent": _percent(min(patch.target_cover for patch in patches)),
        "control_state": min((patch.control_state for patch in patches), key=STATE_ORDER.index),
    }
    names = ", ".join(patch.code for patch in patches)
    note = f"Came of merging {names} on {_today(first, stamp)}: outlines joined, figures put together, not seen anew."
    made = put_together(surveys, code.strip(), note)
    return _succeed("merge", patches, [_patch_of(made, first, said, stamp)], stamp)


@writing()
def succession_undo(*, event: UUID, stamp: Stamp) -> Succession:
    """Let the patches before stand again, while nothing new rests on those in their place. What a later stage knows
    of them refuses through the surveys, which are voided."""
    reason_check(stamp, "Nothing was taken back.")
    rows = succession_of(event)
    if rows[0].undone_at is not None:
        raise WrongState("This was taken back already.")
    before = tuple(dict.fromkeys(row.before for row in rows))
    after = tuple(dict.fromkeys(row.after for row in rows))
    _untouched_check(after, rows[0])
    for survey in made_by(rows[0], after):
        survey_void(survey=survey, stamp=stamp)
    for patch in after:
        _end(patch, stamp, code=_code_freed(patch))
    for patch in before:
        _change(patch, stamp, "patch_restore", ended_on=None)
    PatchSuccession.objects.filter(event=event).update(undone_at=stamp.at)
    told = {"event": str(event), "undone_at": stamp.at.isoformat()}
    change_record(stamp=stamp, verb="patch_succession_undo", entity=rows[0], after=told)
    return Succession(event, rows[0].kind, before, after)


def newest_of(patches: Sequence[Patch], detail: str) -> list[Survey]:
    """The survey that counts for each, in their order; refused where one has none, or only a place."""
    found = {survey.patch_id: survey for survey in surveys_current().filter(patch__in=list(patches))}
    wrong = Findings()
    for patch in patches:
        survey = found.get(patch.pk)
        wrong.need(patch.ended_on is None, "patches", f"{patch} ended on {patch.ended_on}.")
        wrong.need(survey is not None or patch.ended_on is not None, "patches", f"{patch} has no survey that counts.")
        is_area = survey is None or survey.geometry["type"] in AREAS
        wrong.need(is_area, "patches", f"{patch} is a place without an outline. Survey it with one first.")
    wrong.refuse(detail)
    return [found[patch.pk] for patch in patches]


def _gathered(pieces: Sequence[Piece]) -> list[Piece]:
    codes = dict.fromkeys(piece.code.strip() for piece in pieces)
    return [
        Piece(code, shapely.unary_union([piece.outline for piece in pieces if piece.code.strip() == code]))
        for code in codes
    ]


def _codes_check(patch: Patch, codes: Sequence[str], detail: str) -> None:
    """Free at the site: a code that ended stays with the patch that had it."""
    found = Findings()
    taken = set(Patch.objects.filter(site=patch.site, code__in=codes).values_list("code", flat=True))
    for number, code in enumerate(codes, start=1):
        right = 0 < len(code) <= CODE_CHARACTERS
        if not right:
            found.errors.append(FieldError("code", f"Give a code of 1 to {CODE_CHARACTERS} characters.", number))
        if code in taken:
            found.errors.append(FieldError("code", f"{patch.site.code} has a patch {code} already.", number, "unique"))
    found.refuse(detail)


def _pieces_check(ground: BaseGeometry, pieces: Sequence[Piece]) -> None:
    """Two at least, within the patch, beside each other, and together all of it."""
    found = Findings()
    whole_m2 = geodesic_area_m2(ground)
    slip_m2 = max(SLIVER_M2, SLIVER_SHARE * whole_m2)
    outlines = [piece.outline for piece in pieces]
    together = shapely.unary_union(outlines)
    summed_m2 = sum(geodesic_area_m2(outline) for outline in outlines)
    together_m2 = geodesic_area_m2(together)
    found.need(len(pieces) > 1, "pieces", "Two pieces of different codes, at least.")
    outside_m2 = geodesic_area_m2(shapely.difference(together, ground))
    found.need(outside_m2 <= slip_m2, "pieces", "A piece reaches out of the patch.")
    found.need(summed_m2 - together_m2 <= slip_m2, "pieces", "The pieces overlap each other.")
    left_m2 = geodesic_area_m2(shapely.difference(ground, together))
    found.need(left_m2 <= slip_m2, "pieces", f"{left_m2:,.0f} m² of the patch are in none of the pieces.")
    found.refuse(NOT_CUT)


def _together_check(patches: Sequence[Patch]) -> None:
    found = Findings()
    found.need(1 < len(set(patches)) == len(patches), "patches", "Two different patches, at least.")
    found.need(len(patches) <= MOST_MERGED, "patches", f"At most {MOST_MERGED} patches at once.")
    found.need(len({patch.site_id for patch in patches}) <= 1, "patches", "The patches lie at different sites.")
    found.refuse(NOT_JOINED)


def _patch_of(made: Made, parent: Patch, said: dict[str, object], stamp: Stamp) -> Patch:
    patch = patch_write(site=parent.site, code=made.row.patch_code, said=said, stamp=stamp)
    survey_write(row=made.row, patch=patch, stamp=stamp, covers=made.covers)
    return patch


def _succeed(kind: str, before: Sequence[Patch], after: Sequence[Patch], stamp: Stamp) -> Succession:
    event, on = uuid4(), stamp.local_date(before[0].site.time_zone)
    for patch in before:
        _end(patch, stamp)
    rows = [
        PatchSuccession(
            event=event, kind=kind, before=old, after=new, on=on, by=stamp.by, at=stamp.at, reason=stamp.reason
        )
        for old in before
        for new in after
    ]
    PatchSuccession.objects.bulk_create(rows)
    told = {
        "kind": kind,
        "event": str(event),
        "before": [str(one) for one in before],
        "after": [str(one) for one in after],
    }
    change_record(stamp=stamp, verb=f"patch_{kind}", entity=rows[0], after=told)
    return Succession(event, kind, tuple(before), tuple(after))


def _end(patch: Patch, stamp: Stamp, code: str | None = None) -> None:
    renamed = {} if code is None else {"code": code}
    _change(patch, stamp, "patch_end", ended_on=stamp.local_date(patch.site.time_zone), **renamed)


def _change(patch: Patch, stamp: Stamp, verb: str, **values: object) -> None:
    before = version_bump(patch, expected=None, **values)
    plain = {name: None if value is None else str(value) for name, value in before.items()}
    after = {name: None if value is None else str(value) for name, value in values.items()}
    change_record(stamp=stamp, verb=verb, entity=patch, before=plain, after=after)


def _untouched_check(after: Sequence[Patch], row: PatchSuccession) -> None:
    found = Findings()
    own = {survey.pk for survey in made_by(row, after)}
    for patch in after:
        found.need(patch.ended_on is None, "patches", f"{patch} was itself split or merged on {patch.ended_on}.")
        newer = patch.surveys.filter(voided_at__isnull=True).exclude(pk__in=own).count()
        found.need(not newer, "patches", f"{patch} was surveyed since.")
        pictures = patch.photos.filter(removed_at__isnull=True).count()
        found.need(not pictures, "patches", f"{patch} has photos.")
    if found.errors:
        raise WrongState("Something new rests on the new patches, so that this stays.", found.errors)


def _code_freed(patch: Patch) -> str:
    """The code is free for the next try; the patch that never was keeps its number."""
    return f"{patch.code[: CODE_CHARACTERS - 20]} (undone {patch.pk})"


def _today(patch: Patch, stamp: Stamp) -> str:
    return stamp.local_date(patch.site.time_zone).isoformat()


def _percent(share: float) -> float:
    return round(100 * share, 6)


def codes_for_pieces(patch: Patch, count: int) -> list[str]:
    """Proposals: the patch's code with a letter behind it, those left out that are taken."""
    stem = patch.code[: CODE_CHARACTERS - 2]
    taken = set(Patch.objects.filter(site=patch.site_id, code__startswith=stem).values_list("code", flat=True))
    singles = list(ascii_lowercase)
    letters = [*singles, *(one + other for one in singles for other in singles)]
    free = [f"{stem}{letter}" for letter in letters if f"{stem}{letter}" not in taken]
    return free[:count]


def code_for_merged(patches: Sequence[Patch]) -> str:
    """A proposal: the codes joined, else the first one's with a sign behind it."""
    joined = "+".join(patch.code for patch in patches)
    return joined if len(joined) <= CODE_CHARACTERS else f"{patches[0].code[: CODE_CHARACTERS - 1]}+"
