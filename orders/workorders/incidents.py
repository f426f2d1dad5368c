"""Spills, exposures, injuries, near misses and stopped work."""

from orders.common.changes import change_record
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.workorders.facts import fact_known, fact_save
from orders.workorders.models import Incident


@writing()
def incident_add(*, incident: Incident, stamp: Stamp) -> Incident:
    if known := fact_known(incident):
        return known
    fact_save(incident, stamp=stamp)
    audience = [incident.crew.public_id] if incident.crew else []
    after = {"kind": incident.kind, "work_date": incident.work_date.isoformat()}
    change_record(stamp=stamp, verb="incident_add", entity=incident, after=after, audience=audience)
    return incident
