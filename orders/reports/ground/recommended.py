"""Which method suits each patch best, for a map: the code alone, of all patches at once."""

from collections.abc import Mapping

from orders.estimates.suited import codes_leading, surveys_suited
from orders.sites.selectors import surveys_current


def methods_leading(repeat_years: Mapping[int, int]) -> dict[int, str]:
    """By patch, as the list of patches has it; a patch without is left out."""
    surveys = surveys_current()
    keys, suited = surveys_suited(surveys, repeat_years)
    patches = dict(surveys.prefetch_related(None).order_by().values_list("pk", "patch_id"))
    return {patches[key]: code for key, code in zip(keys, codes_leading(suited), strict=True) if code}
