"""What is being chosen before it is confirmed: kept in the session, so that it outlives turned pages and changed
filters, and stores nothing that anybody else sees."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http import HttpRequest

from orders.common.errors import FieldError, Invalid
from orders.planning.filling import Pick
from orders.planning.models import Season
from orders.planning.preview import MOST_PATCHES, RECOMMENDED, STAND_IN, ChoiceAsk, ChoiceRow
from orders.sites.models import Patch

KEPT = "picks"
MOST_KEPT = 5
SHOWN_NAMES = 3


@dataclass
class Draft:
    """Picks by the key of a patch. `keep`: beside what else is chosen there, instead of in its place."""

    season: Season
    selection: str
    crew_kind: str
    keep: bool = False
    picks: dict[int, Pick] = field(default_factory=dict)

    @property
    def key(self) -> str:
        return f"{self.season.public_id.hex}.{self.selection}.{self.crew_kind}"

    def take(
        self, asked: Mapping[int, str], rows: Iterable[ChoiceRow], *, passes_over: bool = False
    ) -> list[ChoiceRow]:
        """Pick what the judged rows let be picked, each by what was asked for on its patch; returns the refused rows.
        Where all stands as it would be, nothing is picked. `passes_over`: what is picked on a patch stays where the
        rows refuse it all."""
        by_patch: dict[int, list[ChoiceRow]] = defaultdict(list)
        for row in rows:
            by_patch[row.line.patch.pk].append(row)
        for key, found in by_patch.items():
            acting = [row for row in found if row.acts]
            if acting:
                made = {row.code: row.estimate.pk for row in acting if row.estimate is not None}
                self.picks[key] = Pick(_plainly(asked[key], made), made)
            elif not (passes_over and all(row.refused for row in found)):
                self.picks.pop(key, None)
        if len(self.picks) > MOST_PATCHES:
            error = FieldError("patch", f"at most {MOST_PATCHES:,} at once: confirm these first, or narrow the list")
            raise Invalid("Too many patches are being chosen for.", [error])
        return [row for found in by_patch.values() for row in found if row.refused]

    def ask(self, patches: Iterable[Patch], why: str = "") -> ChoiceAsk:
        """As a choice of all that is picked on these patches."""
        picks = {patch: self.picks[patch.pk].choice for patch in patches if patch.pk in self.picks}
        count = len(picks)
        return ChoiceAsk.of_picks(
            self.season,
            picks,
            why=why,
            replace=not self.keep,
            crew_kind=self.crew_kind,
            asked=f"{count:,} {'patch' if count == 1 else 'patches'}{_named(list(picks))}",
        )


def _plainly(choice: str, made: Mapping[str, int]) -> str:
    """One method that is recommended or stands in is picked by its own name, as its cell would pick it."""
    return next(iter(made)) if choice in (RECOMMENDED, STAND_IN) and len(made) == 1 else choice


def _named(patches: list[Patch]) -> str:
    """A few are named, since a count alone tells nobody which."""
    if not patches or len(patches) > SHOWN_NAMES:
        return ""
    return f": {', '.join(str(patch) for patch in patches)}"


def draft_of(request: HttpRequest, season: Season, selection: str, crew_kind: str) -> Draft:
    draft = Draft(season, selection, crew_kind or "staff")
    kept: dict[str, Any] = request.session.get(KEPT, {}).get(draft.key, {})
    draft.keep = bool(kept.get("keep"))
    draft.picks = {int(key): Pick(choice, made) for key, (choice, made) in kept.get("picks", {}).items()}
    return draft


def draft_keep(request: HttpRequest, draft: Draft) -> None:
    """Of many drafts the newest stay."""
    others = {key: value for key, value in request.session.get(KEPT, {}).items() if key != draft.key}
    picks = {str(key): [pick.choice, dict(pick.estimates)] for key, pick in draft.picks.items()}
    mine = {draft.key: {"keep": draft.keep, "picks": picks}} if draft.picks or draft.keep else {}
    request.session[KEPT] = dict(list({**others, **mine}.items())[-MOST_KEPT:])
