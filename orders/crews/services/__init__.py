"""Writes of people, what they may do, their crews, when they are away, and the standard rates of their roles."""

from orders.crews.services.absences import absence_add, absence_edit, absence_remove
from orders.crews.services.crews import (
    crew_activate,
    crew_add,
    crew_deactivate,
    crew_edit,
    crew_lead_change,
    crew_member_add,
    crew_member_edit,
    crew_member_end,
)
from orders.crews.services.people import person_activate, person_add, person_deactivate, person_edit
from orders.crews.services.qualifications import (
    qualification_add,
    qualification_edit,
    qualification_end,
    qualification_kind_add,
    qualification_kind_edit,
)
from orders.crews.services.roles import labor_role_add, labor_role_edit, standard_rate_set

__all__ = [
    "absence_add",
    "absence_edit",
    "absence_remove",
    "crew_activate",
    "crew_add",
    "crew_deactivate",
    "crew_edit",
    "crew_lead_change",
    "crew_member_add",
    "crew_member_edit",
    "crew_member_end",
    "labor_role_add",
    "labor_role_edit",
    "person_activate",
    "person_add",
    "person_deactivate",
    "person_edit",
    "qualification_add",
    "qualification_edit",
    "qualification_end",
    "qualification_kind_add",
    "qualification_kind_edit",
    "standard_rate_set",
]
