"""The rows that a checked survey becomes, whoever it came from: one person's sheet, a crew's sighting, a patch that
was split. Called inside the write that checked it."""

from collections.abc import Mapping
from typing import Any

from orders.common.changes import change_record
from orders.common.stamp import Stamp
from orders.sites.convert import Vocabulary, components_of, survey_of
from orders.sites.geofiles.records import SurveyRow
from orders.sites.models import Patch, Site, Survey

Kind = tuple[int, int]  # keys of a species and of a growth form
Cover = tuple[float, float, float]
NO_COVERS: Mapping[Kind, Cover] = {}


def patch_write(*, site: Site, code: str, said: Mapping[str, Any], stamp: Stamp) -> Patch:
    """A new patch, with what its first survey says of it."""
    patch = Patch(site=site, code=code, name=said.get("patch_name", ""))
    if "target_cover_percent" in said:
        patch.target_cover = said["target_cover_percent"] / 100
    if "control_state" in said:
        patch.control_state = said["control_state"]
    patch.save(force_insert=True)
    change_record(stamp=stamp, verb="patch_add", entity=patch, after={"site": site.code, "code": code, **said})
    return patch


def survey_write(*, row: SurveyRow, patch: Patch, stamp: Stamp, covers: Mapping[Kind, Cover] = NO_COVERS) -> Survey:
    """The survey of a row that no file holds, with its components. `covers`: low, likely and high by kind, where they
    are known better than one percent or class says."""
    survey = survey_of(row, stamp=stamp)
    survey.source_row = None
    survey.patch = patch
    survey.save(force_insert=True)
    for component in components_of(row, survey, Vocabulary.read()):
        kind = (component.species_id, component.growth_form_id)
        if kind in covers:
            component.cover_low, component.cover_likely, component.cover_high = covers[kind]
        component.save(force_insert=True)
    after = {"patch": str(patch.public_id), "observed_on": survey.observed_on.isoformat()}
    change_record(stamp=stamp, verb="survey_add", entity=survey, after=after)
    return survey
