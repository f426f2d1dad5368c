"""Seed deadlines: derived rows, computed again where their inputs have changed."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from operator import itemgetter
from typing import Any
from uuid import UUID

from orders.common.changes import change_record, version_bump
from orders.common.rows import plain_values
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.reminders.convert.seeds import Key, seed_inputs
from orders.reminders.models import ENDED, Deadline
from orders.reminders.seeding import SeedInputs, SeedResult, seed_result
from orders.reminders.selectors import crews_on_patches, deadlines_of_year
from orders.sites.models import GrowthForm, Patch, Species, Survey


@dataclass(frozen=True)
class Refreshed:
    """How many deadlines of a year were added, changed, ended, or found as they were.

    `no_range`: components that could fruit, of a species for which nobody has entered when.
    """

    year: int
    added: int = 0
    changed: int = 0
    ended: int = 0
    unchanged: int = 0
    no_range: int = 0


@dataclass(frozen=True)
class _Stale:
    """A deadline to write: a new one where `row` is None."""

    key: Key
    row: Deadline | None
    values: dict[str, Any]
    fingerprint: str

    @property
    def changed(self) -> dict[str, Any]:
        """The columns that differ; none where the inputs changed and the answer did not."""
        return {name: value for name, value in self.values.items() if value != getattr(self.row, name, None)}

    @property
    def what(self) -> str:
        if self.row is None:
            return "added"
        if not self.changed:
            return "unchanged"
        return "ended" if self.changed.get("state") == ENDED else "changed"


def deadlines_refresh(*, year: int, stamp: Stamp) -> Refreshed:
    """Bring the seed deadlines of a year up to what surveys, species and close-outs say at that instant.

    A climbing or sprawling component that is fertile, or not known not to be, carries one. Only rows whose inputs have
    changed are computed again. What is stale is looked for without a lock, and once more under it if there is any.
    """
    stale, refreshed = _compare(year, stamp)
    if not stale:
        return refreshed
    with writing():
        stale, refreshed = _compare(year, stamp)
        crews = crews_on_patches({item.key.patch_id for item in stale})
        names = _Names(stale)
        for item in stale:
            told = [crew.crew_public_id for crew in crews if crew.patch_id == item.key.patch_id]
            _write(item, {"year": year, **names.of(item.key, year)}, stamp, told)
    return refreshed


class _Names:
    """What new rows are called, with its queries made once for all of them."""

    def __init__(self, stale: Iterable[_Stale]) -> None:
        keys = [item.key for item in stale if item.row is None]
        self._patches = Patch.objects.select_related("site").in_bulk({key.patch_id for key in keys})
        self._species = Species.objects.in_bulk({key.species_id for key in keys})
        self._forms = GrowthForm.objects.in_bulk({key.growth_form_id for key in keys})

    def of(self, key: Key, year: int) -> dict[str, Any]:
        if key.patch_id not in self._patches:
            return {}
        patch, species = self._patches[key.patch_id], self._species[key.species_id]
        form = self._forms[key.growth_form_id]
        return {
            "subject_key": f"{patch.public_id}/{species.code}/{form.code}",
            "period": str(year),
            "title": f"{species.common_name} ({form.code}), {patch}"[:300],
            "site_id": patch.site_id,
        }


def _compare(year: int, stamp: Stamp) -> tuple[list[_Stale], Refreshed]:
    """What is to be written, and the counts that hold once it is."""
    rows = {_key(row): row for row in deadlines_of_year(year)}
    inputs = seed_inputs(year, rows)
    stale = list(_stale(inputs, rows, stamp))
    _known_put(stale)
    counts = Counter(item.what for item in stale)
    counts["unchanged"] += len(rows) - sum(item.row is not None for item in stale)
    no_range = sum(facts.fruits is None and facts.may_fruit for facts in inputs.values())
    return stale, Refreshed(year=year, no_range=no_range, **counts)


def _key(row: Deadline) -> Key:
    assert row.patch_id
    assert row.species_id
    assert row.growth_form_id
    return Key(row.patch_id, row.species_id, row.growth_form_id)


def _known_put(stale: Iterable[_Stale]) -> None:
    """A deadline is known from the moment when the survey that it rests on was recorded."""
    resting = [item.values for item in stale if "survey_id" in item.values]
    if not resting:
        return
    surveys = Survey.objects.filter(pk__in={values["survey_id"] for values in resting}).order_by()
    recorded = dict(surveys.values_list("pk", "recorded_at"))
    for values in resting:
        values["known_at"] = recorded[values["survey_id"]]


def _stale(inputs: Mapping[Key, SeedInputs], rows: Mapping[Key, Deadline], stamp: Stamp) -> Iterator[_Stale]:
    zones = dict(Patch.objects.order_by("id").values_list("id", "site__time_zone"))
    for key, facts in sorted(inputs.items(), key=itemgetter(0)):
        today = stamp.local_date(zones[key.patch_id])
        row = rows.get(key)
        if row and row.fingerprint == facts.fingerprint(is_past=row.due_on < today):
            continue
        result = seed_result(facts, today)
        due_on = result.due_on or (row.due_on if row else None)
        if due_on is not None:
            yield _Stale(key, row, _values(result), facts.fingerprint(is_past=due_on < today))


def _values(result: SeedResult) -> dict[str, Any]:
    """The columns that the result decides; an ended deadline keeps the day and the survey that it had."""
    values: dict[str, Any] = {"state": result.state, "because": result.because, "done_on": result.done_on}
    if result.due_on is not None:
        values |= {"due_on": result.due_on, "survey_id": result.survey_id}
    return values


def _write(item: _Stale, named: dict[str, Any], stamp: Stamp, told: Iterable[UUID]) -> None:
    """`named`: the columns of a new row that no result decides."""
    if item.row is None:
        row = Deadline.objects.create(**item.key._asdict(), **named, fingerprint=item.fingerprint, **item.values)
        change_record(stamp=stamp, verb="deadline_add", entity=row, after=_shown(item.values), audience=told)
        return
    changed = item.changed
    if not changed:
        Deadline.objects.filter(pk=item.row.pk).update(fingerprint=item.fingerprint)
        return
    before = version_bump(item.row, expected=None, fingerprint=item.fingerprint, **changed)
    change_record(
        stamp=stamp,
        verb="deadline_change",
        entity=item.row,
        before=_shown(before),
        after=_shown(changed),
        audience=told,
    )


def _shown(values: dict[str, Any]) -> dict[str, Any]:
    """Without the program's own bookkeeping: the reason names the survey by its day."""
    hidden = {"fingerprint", "survey_id", "known_at"}
    return plain_values({name: value for name, value in values.items() if name not in hidden})
