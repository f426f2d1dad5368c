"""Managed property, what grows on it, and what was seen there when."""

from orders.sites.models.places import (
    CONTROL_STATES,
    YES_NO_UNKNOWN,
    ChecklistAnswer,
    ChecklistQuestion,
    GrowthForm,
    Jurisdiction,
    Patch,
    Site,
    Species,
)
from orders.sites.models.season import CLOSURE_KINDS, COLDEST_C, HOTTEST_C, CalendarEvent, Closure, DailyWeather
from orders.sites.models.surveys import (
    GROUNDS,
    HIGHEST_UPPER_CUT_M,
    LOWEST_UPPER_CUT_M,
    REPRODUCTIVE_CONDITIONS,
    Survey,
    SurveyComponent,
    SurveyImport,
)

__all__ = [
    "CLOSURE_KINDS",
    "COLDEST_C",
    "CONTROL_STATES",
    "GROUNDS",
    "HIGHEST_UPPER_CUT_M",
    "HOTTEST_C",
    "LOWEST_UPPER_CUT_M",
    "REPRODUCTIVE_CONDITIONS",
    "YES_NO_UNKNOWN",
    "CalendarEvent",
    "ChecklistAnswer",
    "ChecklistQuestion",
    "Closure",
    "DailyWeather",
    "GrowthForm",
    "Jurisdiction",
    "Patch",
    "Site",
    "Species",
    "Survey",
    "SurveyComponent",
    "SurveyImport",
]
