"""Every write of this stage."""

from orders.sites.services.masters import (
    calendar_event_add,
    checklist_answer,
    checklist_question_add,
    closure_add,
    growth_form_add,
    jurisdiction_add,
    patch_edit,
    site_add,
    species_add,
)
from orders.sites.services.surveys import (
    survey_hold_register,
    survey_import_ask,
    survey_import_now,
    survey_import_undo,
    survey_void,
)

__all__ = [
    "calendar_event_add",
    "checklist_answer",
    "checklist_question_add",
    "closure_add",
    "growth_form_add",
    "jurisdiction_add",
    "patch_edit",
    "site_add",
    "species_add",
    "survey_hold_register",
    "survey_import_ask",
    "survey_import_now",
    "survey_import_undo",
    "survey_void",
]
