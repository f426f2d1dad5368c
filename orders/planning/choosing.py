"""Writes of choices: a method for many patches in one transaction, and putting it back as it was."""

from collections.abc import Iterable, Mapping
from uuid import UUID

from orders.common.changes import change_record, changes_record, version_bump
from orders.common.errors import FieldError, Invalid, WrongState
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.estimates.selectors import method_get
from orders.planning.chains import follow_ups_prescribe
from orders.planning.models import ChoiceBatch, ChoicePart, Prescription
from orders.planning.preview import NOT_METHODS, ChoiceAsk, ChoiceRow, LabelWord, Preview, choices_preview
from orders.planning.selectors import follow_ups_open
from orders.planning.terms import SeasonTerms
from orders.planning.windows import SeasonWindows


class PreviewOutOfDate(WrongState):
    """Surveys, estimates or prescriptions changed after the preview: what would be done is not what was shown."""

    code = "preview_out_of_date"
    title = "The preview is out of date"


class ChoiceInUse(WrongState):
    """Something that the choice made is on a work order, or was asked for again since: it cannot be put back whole."""

    code = "choice_in_use"
    title = "The choice is in use"


@writing()
def choices_make(
    *,
    ask: ChoiceAsk,
    repeat_years: Mapping[int, int],
    fingerprint: str,
    label_word: LabelWord | None = None,
    stamp: Stamp,
    public_id: UUID | None = None,
) -> ChoiceBatch:
    """Choose as the preview of this fingerprint showed, one method or several. Refused rows are left out; the rest is
    done whole or not at all, with one record a prescription and one of the batch that holds them together."""
    preview = choices_preview(ask, repeat_years, label_word)
    _check(preview, fingerprint)
    return choice_batch_make(preview=preview, stamp=stamp, public_id=public_id)


@writing()
def choice_batch_make(*, preview: Preview, stamp: Stamp, public_id: UUID | None = None) -> ChoiceBatch:
    """What a preview of this very moment showed, kept together so that it can be put back."""
    ask = preview.ask
    named = {} if public_id is None else {"public_id": public_id}
    batch = ChoiceBatch.objects.create(
        season=ask.season,
        method=None if ask.method in NOT_METHODS else method_get(ask.method),
        crew_kind=ask.crew_kind,
        why=ask.why,
        asked=ask.asked,
        made_at=stamp.at,
        made_by=stamp.by,
        **named,
    )
    dropped = _drop((old for row in preview.acting for old in row.replaces), batch, stamp)
    made = _add(preview, batch, stamp)
    made += _follow_ups_add(made, batch, stamp)
    after = {"method": ask.method, "asked": ask.asked, "why": ask.why, "made": len(made), "dropped": len(dropped)}
    change_record(stamp=stamp, verb="choices_make", entity=batch, after=after)
    return batch


def _check(preview: Preview, fingerprint: str) -> None:
    if preview.fingerprint != fingerprint:
        raise PreviewOutOfDate("Something changed since this was shown. Look at the preview again.")
    if preview.needs_why:
        other = [f"{row.line.patch}" for row in preview.acting if row.needs_why]
        message = f"is required: another method is recommended on {', '.join(other[:5])}"
        raise Invalid("Say why it is not what is recommended.", [FieldError("why", message, code="required")])
    if not preview.acting:
        errors = [FieldError("patches", f"{row.line.patch}: {row.refused}") for row in preview.refused[:20]]
        raise Invalid("There is nothing to choose on these patches.", errors or [FieldError("patches", "none is left")])


def _drop(rows: Iterable[Prescription], batch: ChoiceBatch, stamp: Stamp) -> list[Prescription]:
    dropped = _with_follow_ups({row.pk: row for row in rows})
    for row in dropped:
        before = version_bump(row, expected=None, state="dropped")
        ChoicePart.objects.create(batch=batch, prescription=row, act="dropped", state_before=before["state"])
    written = [(row, {"state": "dropped", "choice": str(batch.public_id)}) for row in dropped]
    changes_record(stamp=stamp, verb="prescription_drop", written=written)
    return dropped


def _with_follow_ups(rows: dict[int, Prescription]) -> list[Prescription]:
    """The rows and what follows them in chains, down to its end."""
    level = list(rows.values())
    while level:
        level = [row for row in follow_ups_open(level) if row.pk not in rows]
        rows |= {row.pk: row for row in level}
    return list(rows.values())


def _follow_ups_add(firsts: list[Prescription], batch: ChoiceBatch, stamp: Stamp) -> list[Prescription]:
    """What follows the chosen methods: part of the choice, so that it goes when that is undone."""
    windows = SeasonWindows(batch.season)
    made = follow_ups_prescribe(season=batch.season, windows=windows, firsts=firsts, stamp=stamp)
    ChoicePart.objects.bulk_create([ChoicePart(batch=batch, prescription=row, act="made") for row in made])
    return made


def _add(preview: Preview, batch: ChoiceBatch, stamp: Stamp) -> list[Prescription]:
    terms = SeasonTerms(SeasonWindows(preview.ask.season))
    made = Prescription.objects.bulk_create([_prescription(preview.ask, row, terms) for row in preview.new])
    ChoicePart.objects.bulk_create([ChoicePart(batch=batch, prescription=row, act="made") for row in made])
    written = [
        (row, {"patch": str(row.patch), "method": row.method.code, "why": row.why, "choice": str(batch.public_id)})
        for row in made
    ]
    changes_record(stamp=stamp, verb="prescription_add", written=written)
    return made


def _prescription(ask: ChoiceAsk, row: ChoiceRow, terms: SeasonTerms) -> Prescription:
    assert row.estimate is not None  # a row without estimate or days is refused, so it is not new
    assert row.days is not None
    agreed = terms.terms(row.line.survey, row.estimate.method, row.days)
    return Prescription(
        season=ask.season,
        patch=row.line.patch,
        method=row.estimate.method,
        estimate=row.estimate,
        first_day=agreed.first_day,
        last_day=agreed.last_day,
        window_because=agreed.window_because,
        fund=agreed.fund,
        seed_due_on=agreed.seed_due_on,
        why=row.because if row.is_recommended else ask.why.strip() or row.because,
        is_own_choice=not row.is_recommended,
    )


@writing()
def choice_batch_undo(*, batch: ChoiceBatch, stamp: Stamp, expected_version: int | None = None) -> ChoiceBatch:
    """Put everything back as it was before the choice: what it made is dropped, what it dropped stands again.

    Refused, with names, where one of them was ordered or done since, or where the dropped method was asked for anew.
    """
    if batch.state != "made":
        raise WrongState("This choice was undone already.")
    parts = list(batch.parts.select_related("prescription__patch__site", "prescription__method").order_by("id"))
    made = [part.prescription for part in parts if part.act == "made"]
    dropped = [part for part in parts if part.act == "dropped"]
    _undo_check(made, [part.prescription for part in dropped])
    version_bump(batch, expected=expected_version, state="undone", undone_at=stamp.at, undone_by=stamp.by)
    back = _with_follow_ups({row.pk: row for row in made if row.state != "dropped"})
    for row in back:
        version_bump(row, expected=None, state="dropped")
    for part in dropped:
        version_bump(part.prescription, expected=None, state=_state_back(part))
    told = {"undone": str(batch.public_id)}
    changes_record(stamp=stamp, verb="prescription_drop", written=[(row, {"state": "dropped", **told}) for row in back])
    restored = [(part.prescription, {"state": part.prescription.state, **told}) for part in dropped]
    changes_record(stamp=stamp, verb="prescription_restore", written=restored)
    change_record(stamp=stamp, verb="choice_batch_undo", entity=batch, after={"state": "undone"})
    return batch


def _undo_check(made: list[Prescription], dropped: list[Prescription]) -> None:
    used = [f"{row} is {row.get_state_display().lower()}" for row in made if row.state in {"ordered", "done"}]
    used += [f"{row} stands again already" for row in dropped if row.state != "dropped"]
    ids = [row.pk for row in made]
    for row in (row for row in dropped if row.origin != "follow_up"):
        anew = Prescription.objects.filter(season_id=row.season_id, patch_id=row.patch_id, method_id=row.method_id)
        anew = anew.exclude(origin="follow_up")
        if anew.exclude(pk__in=ids).exclude(state__in=["done", "dropped"]).exists():
            used.append(f"{row} was asked for again since")
    if used:
        errors = [FieldError("prescriptions", text) for text in used]
        raise ChoiceInUse(f"This choice cannot be put back: {'; '.join(used[:5])}.", errors)


def _state_back(part: ChoicePart) -> str:
    """Planned only while an accepted plan still has a visit for it."""
    served = part.prescription.visit_shares.filter(visit__state="planned").exists()
    return "planned" if part.state_before == "planned" and served else "open"
