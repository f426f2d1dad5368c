"""What a crew newly saw. Where enough is told it becomes a survey of a new patch; else it waits for a person."""

from orders.common.errors import Invalid
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Detection
from orders.sites.models import GrowthForm, Survey
from orders.sites.services import Seen, survey_add_seen
from orders.workorders.facts import fact_known, fact_save


@writing()
def detection_add(*, detection: Detection, stamp: Stamp) -> Detection:
    if known := fact_known(detection):
        return known
    detection.survey = _surveyed(detection, stamp)
    return fact_save(detection, stamp=stamp)


def _surveyed(detection: Detection, stamp: Stamp) -> Survey | None:
    """A species, a cover above 0 and a sound place make a survey. What was seen is kept in any case."""
    form = GrowthForm.objects.filter(code=detection.growth_form).first()
    if detection.species is None or form is None or not detection.cover_percent:
        return None
    day = Stamp(by=stamp.by, at=detection.at).local_date(detection.site.time_zone)
    name = (stamp.by.get_full_name() or stamp.by.get_username()) if stamp.by else ""
    seen = Seen(
        site=detection.site,
        observed_on=day,
        observer=name,
        species=detection.species,
        growth_form=form,
        geometry=detection.geometry,
        cover_percent=detection.cover_percent,
        accuracy_m=detection.accuracy_m,
        notes=detection.note,
    )
    try:
        return survey_add_seen(seen=seen, stamp=stamp)
    except Invalid:
        return None
