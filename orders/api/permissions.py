"""Endpoint × method × roles: one table. An endpoint without a row is refused to everybody, and a test fails."""

from typing import Any

from rest_framework.permissions import BasePermission

from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD, FINANCE, PESTICIDE_SUPERVISOR
from orders.field.models import Device

ANYONE = frozenset({"anyone"})  # also without login
SIGNED_IN = frozenset({"signed in"})  # whoever is logged in, whatever the role
EVERY_ROLE = frozenset({COORDINATOR, CREW_LEAD, PESTICIDE_SUPERVISOR, FINANCE, ADMINISTRATOR})
OFFICE = EVERY_ROLE - {CREW_LEAD}
DESK = frozenset({COORDINATOR, ADMINISTRATOR})
SAFETY = DESK | {PESTICIDE_SUPERVISOR}
RECORDS = SAFETY | {CREW_LEAD}
SUPERVISOR = frozenset({PESTICIDE_SUPERVISOR})
FIELD = DESK | {CREW_LEAD}
MONEY = frozenset({FINANCE, ADMINISTRATOR})
FUNDERS = MONEY | {COORDINATOR}
TABLET = frozenset({"tablet"})  # a tablet by its own token, whoever is using it

# endpoint -> method -> roles. What is outside an actor's scope is a 404 from the selectors, whatever stands here.
TABLE: dict[str, dict[str, frozenset[str]]] = {
    "tokens": {"POST": ANYONE},
    "token-current": {"DELETE": SIGNED_IN},
    "me": {"GET": SIGNED_IN},
    "sites": {"GET": EVERY_ROLE},
    "site": {"GET": EVERY_ROLE, "PATCH": DESK},
    "site-checklist": {"GET": EVERY_ROLE, "POST": DESK},
    "site-calendar": {"GET": EVERY_ROLE, "POST": DESK},
    "site-weather": {"POST": DESK},
    "site-advice": {"GET": EVERY_ROLE},
    "calendar-record": {"GET": EVERY_ROLE, "PATCH": DESK},
    "calendar-record-remove": {"POST": DESK},
    "closures": {"GET": EVERY_ROLE, "POST": DESK},
    "closure": {"GET": EVERY_ROLE, "PATCH": DESK},
    "closure-remove": {"POST": DESK},
    "daily-weather": {"GET": EVERY_ROLE},
    "patches": {"GET": EVERY_ROLE},
    "patch": {"GET": EVERY_ROLE, "PATCH": DESK},
    "patch-suitability": {"GET": OFFICE},
    "patch-options": {"GET": OFFICE},
    "surveys": {"GET": EVERY_ROLE},
    "survey": {"GET": EVERY_ROLE},
    "survey-void": {"POST": DESK},
    "survey-imports": {"GET": DESK, "POST": DESK},
    "survey-import": {"GET": DESK},
    "survey-import-undo": {"POST": DESK},
    "species": {"GET": EVERY_ROLE},
    "species-one": {"GET": EVERY_ROLE, "PATCH": DESK},
    "methods": {"GET": EVERY_ROLE},
    "method": {"GET": EVERY_ROLE},
    "method-equipment": {"PUT": DESK},
    "growth-forms": {"GET": EVERY_ROLE},
    "rate-books": {"GET": OFFICE, "POST": DESK},
    "rate-book": {"GET": OFFICE, "PATCH": DESK},
    "rate-book-copy": {"POST": DESK},
    "rate-book-discard": {"POST": DESK},
    "rate-book-retire": {"POST": DESK},
    "rate-book-rates": {"POST": DESK, "PATCH": DESK},
    "rate-book-rate-remove": {"POST": DESK},
    "rate-book-csv": {"GET": OFFICE, "PUT": DESK},
    "rate-book-difference": {"GET": OFFICE},
    "rate-book-effect": {"GET": OFFICE},
    "rate-book-warnings": {"GET": OFFICE},
    "rate-book-changes": {"GET": OFFICE},
    "rate-book-put-in-force": {"POST": DESK},
    "estimates": {"GET": OFFICE, "POST": DESK},
    "estimate": {"GET": OFFICE},
    "estimate-label": {"GET": OFFICE},
    "estimate-try": {"GET": OFFICE},
    "seasons": {"GET": OFFICE, "POST": DESK},
    "season": {"GET": OFFICE},
    "season-budget-level": {"PUT": DESK},
    "season-worth": {"PUT": DESK},
    "season-prescribe": {"POST": DESK},
    "season-calendar": {"GET": OFFICE},
    "season-windows": {"GET": OFFICE},
    "season-load": {"GET": OFFICE},
    "season-cost-course": {"GET": OFFICE},
    "season-funds": {"GET": OFFICE, "POST": DESK},
    "season-fund": {"GET": OFFICE, "PATCH": DESK},
    "season-fund-remove": {"POST": DESK},
    "prescriptions": {"GET": OFFICE, "POST": DESK},
    "prescription": {"GET": OFFICE},
    "prescription-drop": {"POST": DESK},
    "prescription-fund": {"PUT": DESK},
    "prescription-later-steps": {"GET": OFFICE},
    "chain-rules": {"GET": OFFICE, "POST": DESK},
    "chain-rule": {"GET": OFFICE, "PATCH": DESK},
    "equipment": {"GET": EVERY_ROLE, "POST": DESK},
    "equipment-one": {"GET": EVERY_ROLE, "PATCH": DESK},
    "choices-preview": {"POST": DESK},
    "choices": {"POST": DESK},
    "choice-batches": {"GET": OFFICE},
    "choice-batch": {"GET": OFFICE},
    "choice-batch-undo": {"POST": DESK},
    "plan-runs": {"GET": OFFICE, "POST": DESK},
    "plan-run": {"GET": OFFICE},
    "plan-run-cancel": {"POST": DESK},
    "plan-run-accept": {"POST": DESK},
    "plan-run-drop": {"POST": DESK},
    "plan-runs-again": {"POST": DESK},
    "plan-runs-what-if": {"POST": DESK},
    "plan-runs-compare": {"GET": OFFICE},
    "calibration-runs": {"GET": OFFICE, "POST": DESK},
    "calibration-run": {"GET": OFFICE},
    "calibration-run-draft": {"POST": DESK},
    "run": {"GET": EVERY_ROLE},
    "visits": {"GET": EVERY_ROLE},
    "visit": {"GET": EVERY_ROLE},
    "visit-move-preview": {"GET": DESK},
    "visit-move": {"PUT": DESK},
    "visit-free": {"POST": DESK},
    "crews": {"GET": EVERY_ROLE},
    "people": {"GET": EVERY_ROLE},
    "products": {"GET": EVERY_ROLE},
    "product": {"GET": EVERY_ROLE},
    "product-documents": {"GET": EVERY_ROLE, "POST": SAFETY},
    "product-document": {"GET": EVERY_ROLE},
    "lots": {"GET": EVERY_ROLE},
    "stock": {"GET": EVERY_ROLE},
    "stock-movements": {"GET": OFFICE, "POST": SAFETY},
    "work-orders": {"GET": EVERY_ROLE},
    "work-order": {"GET": EVERY_ROLE},
    "work-order-funding": {"PUT": FUNDERS},
    "work-order-issue": {"POST": DESK},
    "work-order-start": {"POST": FIELD},
    "work-order-close": {"POST": FIELD},
    "work-order-amend": {"POST": DESK},
    "work-order-void": {"POST": DESK},
    "work-order-restore": {"POST": DESK},
    "work-order-reassign": {"POST": DESK},
    "work-order-overrides": {"POST": SAFETY},
    "work-order-visit-not-done": {"POST": FIELD},
    "work-order-close-outs": {"GET": EVERY_ROLE},
    "deadlines": {"GET": EVERY_ROLE},
    "notices": {"GET": EVERY_ROLE},
    "notice-acknowledge": {"POST": EVERY_ROLE},
    "notice-snooze": {"POST": EVERY_ROLE},
    "reminder-steps": {"GET": EVERY_ROLE},
    "reminder-step": {"GET": EVERY_ROLE, "PATCH": DESK},
    "reminder-preference": {"GET": EVERY_ROLE, "PATCH": EVERY_ROLE},
    "calendar-feed": {"GET": EVERY_ROLE, "POST": EVERY_ROLE},
    "calendar-feed-revoke": {"POST": EVERY_ROLE},
    "funds": {"GET": FUNDERS, "POST": MONEY},
    "awards": {"GET": FUNDERS, "POST": MONEY},
    "pay-rates": {"GET": MONEY, "POST": MONEY},
    "check-ins": {"GET": RECORDS},
    "check-in-found": {"POST": SAFETY},
    "check-in-take": {"POST": SAFETY},
    "briefings": {"GET": RECORDS},
    "day-sheets": {"GET": EVERY_ROLE},
    "incidents": {"GET": RECORDS},
    "incident": {"GET": RECORDS},
    "incident-notes": {"POST": SAFETY},
    "mix-batches": {"GET": RECORDS},
    "applications": {"GET": RECORDS},
    "weather-checks": {"GET": RECORDS},
    "photos": {"GET": RECORDS},
    "photo-file": {"GET": RECORDS},
    "sign-postings": {"GET": RECORDS},
    "detections": {"GET": RECORDS},
    "field-policy": {"GET": RECORDS, "PUT": DESK},
    "ledger": {"GET": MONEY},
    "report-costs": {"GET": MONEY},
    "report-accuracy": {"GET": OFFICE},
    "calculation-sprayer": {"GET": EVERY_ROLE},
    "calculation-mix-load": {"GET": EVERY_ROLE},
    "calculation-acid-equivalent": {"GET": EVERY_ROLE},
    "changes": {"GET": EVERY_ROLE},
    "devices": {"GET": DESK},
    "device": {"GET": DESK, "PATCH": DESK},
    "device-revoke": {"POST": DESK},
    "device-user-remove": {"POST": DESK},
    "enrollment-codes": {"POST": DESK},
    "flags": {"GET": RECORDS},
    "flag": {"GET": RECORDS},
    "flag-sides": {"GET": SAFETY},
    "flag-settle": {"POST": SAFETY},
    "commands": {"GET": DESK},
    "command": {"GET": DESK},
    "unsent-imports": {"POST": DESK},
    "tablet-enroll": {"POST": ANYONE},
    "tablet-commands": {"POST": TABLET},
    "tablet-work": {"POST": TABLET},
    "tablet-document": {"GET": TABLET},
    "tablet-photo": {"GET": TABLET, "PATCH": TABLET},
    "application-records": {"GET": RECORDS, "POST": RECORDS},
    "application-records-table": {"GET": RECORDS},
    "application-records-owed": {"GET": RECORDS},
    "application-record": {"GET": RECORDS},
    "application-record-holds": {"GET": SAFETY, "POST": SAFETY},
    "application-record-hold-lift": {"POST": SAFETY},
    "record-profiles": {"GET": EVERY_ROLE, "POST": SUPERVISOR},
    "record-profile": {"GET": EVERY_ROLE, "PATCH": SUPERVISOR},
    "volunteer-permits": {"GET": RECORDS, "POST": SAFETY},
    "volunteer-permit": {"GET": RECORDS, "PATCH": SAFETY},
    "schema": {"GET": ANYONE},
    "docs": {"GET": ANYONE},
    "problem": {"GET": ANYONE},
    "healthz": {"GET": ANYONE},
    "readyz": {"GET": ANYONE},
}


class RoleAllowed(BasePermission):
    """403 where the role lacks the endpoint. A verb that the address does not know goes on to its 405."""

    message = "Your role does not open this."
    code = "role_missing"

    def has_permission(self, request: Any, view: Any) -> bool:
        if not hasattr(view, request.method.lower()):
            return True
        method = "GET" if request.method == "HEAD" else request.method
        allowed = TABLE.get(view.endpoint, {}).get(method, frozenset())
        if method == "OPTIONS" or allowed == ANYONE:
            return True
        if not (request.user and request.user.is_authenticated):
            return False
        if allowed == TABLET or isinstance(request.auth, Device):
            return allowed == TABLET and isinstance(request.auth, Device)
        return allowed == SIGNED_IN or bool(request.user.has_role(*allowed))
