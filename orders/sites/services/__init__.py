"""Every write of this stage."""

from orders.sites.services.by_hand import Entered, Sheet, patch_add, survey_add, survey_correct
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
from orders.sites.services.photos import patch_photo_add, patch_photo_remove, patch_photo_restore, patch_photos_add
from orders.sites.services.seasons import (
    calendar_event_add,
    calendar_event_edit,
    calendar_event_remove,
    closure_add,
    closure_edit,
    closure_remove,
)
from orders.sites.services.seen import Seen, survey_add_seen
from orders.sites.services.species import (
    SpeciesYear,
    species_activate,
    species_add,
    species_deactivate,
    species_edit,
)
from orders.sites.services.succession import Piece, Succession, patch_merge, patch_split, succession_undo
from orders.sites.services.surveys import (
    survey_hold_register,
    survey_import_ask,
    survey_import_now,
    survey_import_undo,
    survey_void,
)
from orders.sites.services.wanted import PatchesEdited, patches_edit, patches_edit_undo
from orders.sites.services.weather import WeatherImported, weather_import
from orders.sites.services.words import (
    QuestionAnswered,
    checklist_question_activate,
    checklist_question_deactivate,
    checklist_question_edit,
    checklist_question_remove,
    growth_form_edit,
    jurisdiction_activate,
    jurisdiction_deactivate,
    jurisdiction_edit,
)

__all__ = [
    "EmergencyPlan",
    "Entered",
    "PatchesEdited",
    "Piece",
    "QuestionAnswered",
    "Seen",
    "Sheet",
    "SpeciesYear",
    "Succession",
    "WeatherImported",
    "calendar_event_add",
    "calendar_event_edit",
    "calendar_event_remove",
    "checklist_answer",
    "checklist_question_activate",
    "checklist_question_add",
    "checklist_question_deactivate",
    "checklist_question_edit",
    "checklist_question_remove",
    "closure_add",
    "closure_edit",
    "closure_remove",
    "growth_form_add",
    "growth_form_edit",
    "jurisdiction_activate",
    "jurisdiction_add",
    "jurisdiction_deactivate",
    "jurisdiction_edit",
    "patch_add",
    "patch_edit",
    "patch_merge",
    "patch_photo_add",
    "patch_photo_remove",
    "patch_photo_restore",
    "patch_photos_add",
    "patch_split",
    "patches_edit",
    "patches_edit_undo",
    "site_add",
    "site_edit",
    "species_activate",
    "species_add",
    "species_deactivate",
    "species_edit",
    "succession_undo",
    "survey_add",
    "survey_add_seen",
    "survey_correct",
    "survey_hold_register",
    "survey_import_ask",
    "survey_import_now",
    "survey_import_undo",
    "survey_void",
    "weather_import",
]
