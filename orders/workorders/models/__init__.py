from orders.workorders.models.closing import CloseOut, MaterialUse, PatchOutcome, TimeEntry
from orders.workorders.models.facts import FieldFact
from orders.workorders.models.mixes import (
    Application,
    ApplicationPerson,
    BatchPart,
    MixBatch,
    MixDayEnd,
    WeatherCheck,
)
from orders.workorders.models.orders import LimitOverride, OrderEdition, OrderVisit, WorkOrder
from orders.workorders.models.photos import Photo
from orders.workorders.models.records import ApplicationRecord, RecordHold, RecordProfile
from orders.workorders.models.safety import Incident, IncidentNote, SignPosting
from orders.workorders.models.spans import TIME_CODES, TimedSpan

__all__ = [
    "TIME_CODES",
    "Application",
    "ApplicationPerson",
    "ApplicationRecord",
    "BatchPart",
    "CloseOut",
    "FieldFact",
    "Incident",
    "IncidentNote",
    "LimitOverride",
    "MaterialUse",
    "MixBatch",
    "MixDayEnd",
    "OrderEdition",
    "OrderVisit",
    "PatchOutcome",
    "Photo",
    "RecordHold",
    "RecordProfile",
    "SignPosting",
    "TimeEntry",
    "TimedSpan",
    "WeatherCheck",
    "WorkOrder",
]
