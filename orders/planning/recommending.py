"""Which methods are recommended on a survey, and why."""

from collections.abc import Sequence

import numpy as np

from estimating.columns import Known
from estimating.suitability import Suitability
from orders.sites.models import Survey


def methods_recommended(surveys: Sequence[Survey], suited: Suitability) -> dict[tuple[int, str], str]:
    """The recommended methods by survey, with the reason of the first component that asks for each."""
    chosen: dict[tuple[int, str], str] = {}
    for component in np.flatnonzero(suited.recommended >= 0):
        method = int(suited.recommended[component])
        if suited.fits[component, method] == Known.YES:
            row = int(suited.site.components.patch_index[component])
            chosen.setdefault((row, suited.methods.codes[method]), suited.why(int(component)))
    return dict(sorted(chosen.items()))
