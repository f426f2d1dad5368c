"""Every write of this stage."""

from orders.sites.services.masters import (
    EmergencyPlan,
    checklist_answer,
    checklist_question_add,
    growth_form_add,
    jurisdiction_add,
    patch_edit,
    site_add,
    site_edit,
)
from orders.sites.services.seasons import (
    calendar_event_add,
    calendar_event_edit,
    calendar_event_remove,
    closure_add,
    closure_edit,
    closure_remove,
)
from orders.sites.services.seen import Seen, survey_add_seen
from orders.sites.services.species import SpeciesYear, species_add, species_edit
from orders.sites.services.surveys import (
    survey_hold_register,
    survey_import_ask,
    survey_import_now,
    survey_import_undo,
    survey_void,
)
from orders.sites.services.weather import WeatherImported, weather_import

__all__ = [
    "EmergencyPlan",
    "Seen",
    "SpeciesYear",
    "WeatherImported",
    "calendar_event_add",
    "calendar_event_edit",
    "calendar_event_remove",
    "checklist_answer",
    "checklist_question_add",
    "closure_add",
    "closure_edit",
    "closure_remove",
    "growth_form_add",
    "jurisdiction_add",
    "patch_edit",
    "site_add",
    "site_edit",
    "species_add",
    "species_edit",
    "survey_add_seen",
    "survey_hold_register",
    "survey_import_ask",
    "survey_import_now",
    "survey_import_undo",
    "survey_void",
    "weather_import",
]
