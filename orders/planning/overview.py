"""The surveyed patches with what is recommended and what is chosen there."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass

from estimating.columns import Known
from estimating.suitability import NO_METHOD, Suitability
from orders.estimates.services import survey_suitability
from orders.planning.models import Prescription, Season
from orders.planning.recommending import methods_recommended
from orders.planning.selectors import prescriptions_standing
from orders.sites.models import Patch, Survey
from orders.sites.selectors import surveys_current


@dataclass(frozen=True, kw_only=True)
class PatchLine:
    """One patch by its newest survey. `recommended` holds a reason for each method code; `leading` is the one of the
    component that counts most, `waits` that the survey must answer something first."""

    patch: Patch
    survey: Survey
    row: int
    forms: tuple[str, ...]
    infested_area_m2: float
    cover: float
    recommended: Mapping[str, str]
    leading: str
    leading_name: str
    because: str
    waits: bool
    chosen: tuple[Prescription, ...]

    @property
    def differs(self) -> bool:
        """Something else than recommended is chosen; what follows in a chain is not a choice."""
        return any(row.method.code not in self.recommended for row in self.chosen if row.origin != "follow_up")


@dataclass(frozen=True)
class Overview:
    """All surveyed patches of the program in a season."""

    season: Season | None
    suited: Suitability
    lines: tuple[PatchLine, ...]


@dataclass(frozen=True, kw_only=True)
class PatchQuestion:
    """Which patches: every field narrows, an empty one does not. Site, method and form by code; `chosen` yes or no."""

    site: str = ""
    recommended: str = ""
    form: str = ""
    species: str = ""
    control_state: str = ""
    chosen: str = ""
    text: str = ""
    sort: str = "patch"

    def words(self) -> str:
        """For people and the record."""
        said = [f"{name.replace('_', ' ')} {value}" for name, value in asdict(self).items() if value and name != "sort"]
        return ", ".join(said) or "all surveyed patches"


# Beyond this many patches all are read, and those that were not asked for left out: a database takes so many ids.
MOST_NAMED = 5000


def overview(
    season: Season | None, repeat_years: Mapping[int, int], only: Iterable[Patch | int] | None = None
) -> Overview:
    """Every patch with a survey that counts, in the order of sites and codes; `only` some of them, or their keys."""
    named = None if only is None else {one if isinstance(one, int) else one.pk for one in only}
    surveys = _surveys(named)
    suited = survey_suitability(surveys, repeat_years)
    chosen = _chosen(season, named)
    reasons: dict[int, dict[str, str]] = defaultdict(dict)
    for (row, code), why in methods_recommended(surveys, suited).items():
        reasons[row][code] = why
    lines = tuple(
        _line(survey, row, suited, reasons[row], tuple(chosen[survey.patch_id])) for row, survey in enumerate(surveys)
    )
    return Overview(season, suited, lines)


def _surveys(named: set[int] | None) -> list[Survey]:
    rows = surveys_current().defer("patch_said", "patch__site__boundary")
    if named is not None and len(named) <= MOST_NAMED:
        rows = rows.filter(patch__in=named)
    return [survey for survey in rows if named is None or survey.patch_id in named]


def _chosen(season: Season | None, named: set[int] | None) -> Mapping[int, list[Prescription]]:
    """What stands in the season, by patch."""
    chosen: dict[int, list[Prescription]] = defaultdict(list)
    if season is None:
        return chosen
    rows = prescriptions_standing(season).defer("method__facts")
    if named is not None and len(named) <= MOST_NAMED:
        rows = rows.filter(patch__in=named)
    for prescription in rows:
        chosen[prescription.patch_id].append(prescription)
    return chosen


def _line(
    survey: Survey, row: int, suited: Suitability, reasons: Mapping[str, str], chosen: tuple[Prescription, ...]
) -> PatchLine:
    components = list(survey.components.all())
    infested = sum(part.infested_area_m2 for part in components)
    canopy = sum(part.infested_area_m2 * part.cover_likely for part in components)
    leading = suited.leading_component(row)
    method = NO_METHOD if leading is None else int(suited.recommended[leading])
    waits = leading is not None and method != NO_METHOD and suited.fits[leading, method] == Known.UNKNOWN
    return PatchLine(
        patch=survey.patch,
        survey=survey,
        row=row,
        forms=tuple(dict.fromkeys(part.growth_form.code for part in components)),
        infested_area_m2=infested,
        cover=canopy / infested if infested else 0.0,
        recommended=reasons,
        leading="" if method == NO_METHOD else suited.methods.codes[method],
        leading_name="" if method == NO_METHOD else suited.methods.methods[method].name,
        because="The patch has no surveyed component." if leading is None else suited.why(leading),
        waits=bool(waits),
        chosen=chosen,
    )
