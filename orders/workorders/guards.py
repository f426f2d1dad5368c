"""What must hold before a crew is sent out: site checklist, licenses, label. Each refusal says what and why."""

from datetime import date

from estimating.label_guard import blocking
from estimating.labels import THE_LAW
from orders.common.errors import FieldError, Refusal
from orders.common.stamp import Stamp
from orders.crews.selectors import crew_people, crew_skills
from orders.planning.models import Visit
from orders.sites.selectors import checklist_open
from orders.workorders.convert import proposed_uses, rows_of
from orders.workorders.label_checks import label_findings
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_prescriptions, order_visits


class ChecklistOpen(Refusal):
    """The site's checklist is not answered, or an answer stops work."""

    code = "checklist_open"
    title = "The site's checklist is open"


class LicenseMissing(Refusal):
    """Nobody on the crew holds what the method needs, in that state, on that day."""

    code = "license_missing"
    title = "The crew lacks a license or qualification"


class LabelForbids(Refusal):
    """The label, or the program's own limit, speaks against the use. The label is the law."""

    code = "label_forbids"
    title = "The label or the program's policy stands against it"


def issue_refuse(order: WorkOrder, *, stamp: Stamp) -> None:
    """Raise the first refusal of: checklist, licenses, label."""
    checklist_refuse(order)
    licenses_refuse(order)
    label_refuse(order, today=stamp.local_date(order.site.time_zone))


def start_refuse(order: WorkOrder, *, stamp: Stamp) -> None:
    """Licenses again, on the day that the crew starts."""
    licenses_refuse(order, on=stamp.local_date(order.site.time_zone))


def checklist_refuse(order: WorkOrder) -> None:
    still_open = checklist_open(order.site, order.last_day)
    if still_open:
        errors = [FieldError(row.question.code, f"{row.question.question} {row.why}") for row in still_open]
        raise ChecklistOpen(f"{order.site.name} has questions that must be answered before work is ordered.", errors)


def licenses_refuse(order: WorkOrder, on: date | None = None) -> None:
    errors = []
    methods = {asked.method for asked in order_prescriptions(order).select_related("method__qualification")}
    for visit in order_visits(order).filter(state="ordered"):
        day = on or visit.day
        held = crew_skills(order.crew, day, order.site.jurisdiction)
        if not held and not crew_people(order.crew, day):
            errors.append(FieldError("crew", f"{order.crew} has nobody on {day}", code="nobody"))
        for method in sorted(methods, key=lambda method: method.code):
            needed = method.qualification
            if needed and needed.code not in held and _served(visit, method.pk):
                message = f"{method.name} needs {needed.name} in {order.site.jurisdiction.code} on {day}"
                errors.append(FieldError("crew", message, code="license"))
    if errors:
        raise LicenseMissing(f"{order.crew} may not do all of {order}.", errors)


def _served(visit: Visit, method_id: int) -> bool:
    return any(share.prescription.method_id == method_id for share in visit.shares.all())


def label_refuse(order: WorkOrder, *, today: date) -> None:
    """An override is of one kind of limit: a reason that was given for a policy does not speak for a label's advice."""
    findings = label_findings(order, today=today)
    rows = rows_of(proposed_uses(order))
    passed = {(override.limit_kind, override.limit) for override in order.overrides.order_by("id")}
    standing = [
        finding
        for finding in findings
        if blocking([finding], [(limit, row) for kind, limit in passed if kind == finding.kind for row in rows])
    ]
    if standing:
        errors = [FieldError(finding.rows[0], finding.message, code=finding.code) for finding in standing]
        data = {"kinds": sorted({str(finding.kind) for finding in standing})}
        raise LabelForbids(f"{THE_LAW} This order cannot be issued.", errors, data)
