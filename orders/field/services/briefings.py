"""The tailgate briefing, as it was held."""

from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.field.models import Briefing
from orders.workorders.facts import fact_known, fact_save


@writing()
def briefing_add(*, briefing: Briefing, stamp: Stamp) -> Briefing:
    return fact_known(briefing) or fact_save(briefing, stamp=stamp)
