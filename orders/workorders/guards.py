"""What must hold before a crew is sent out: site checklist, licenses, label. Each refusal says what and why."""

from collections.abc import Callable, Iterator
from datetime import date

from estimating.label_guard import blocking
from estimating.labels import THE_LAW, Finding
from orders.common.errors import FieldError, Refusal
from orders.common.stamp import Stamp
from orders.crews.selectors import crew_people, crew_skills
from orders.planning.models import Visit
from orders.sites.selectors import checklist_open
from orders.supplies.selectors import mixes_out_of_use, products_named, products_out_of_use
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


class MixMissing(Refusal):
    """Work with herbicide whose estimate names no product: no label speaks for or against it."""

    code = "mix_missing"
    title = "Herbicide without a mix"


class OutOfUse(Refusal):
    """A mix or a product of the order's work is no longer in use: nobody is sent out with it anew."""

    code = "out_of_use"
    title = "A mix or product is no longer in use"


class LabelForbids(Refusal):
    """The label, or the program's own limit, speaks against the use. The label is the law."""

    code = "label_forbids"
    title = "The label or the program's policy stands against it"


def issue_refusals(order: WorkOrder, *, today: date) -> Iterator[Refusal]:
    """What keeps the order from its crew, in the order in which it is best settled: checklist, licenses, mixes, what is
    out of use, label."""
    judges: tuple[Callable[[], Refusal | None], ...] = (
        lambda: checklist_stands(order),
        lambda: licenses_stand(order),
        lambda: mixes_stand(order),
        lambda: uses_stand(order),
        lambda: label_stands(order, today=today),
    )
    for judge in judges:
        if (found := judge()) is not None:
            yield found


def issue_refuse(order: WorkOrder, *, stamp: Stamp) -> None:
    """Raise the first of them."""
    for refusal in issue_refusals(order, today=stamp.local_date(order.site.time_zone)):
        raise refusal


def start_refuse(order: WorkOrder, *, stamp: Stamp) -> None:
    """Licenses again, on the day that the crew starts."""
    licenses_refuse(order, on=stamp.local_date(order.site.time_zone))


def checklist_refuse(order: WorkOrder) -> None:
    _raise(checklist_stands(order))


def licenses_refuse(order: WorkOrder, on: date | None = None) -> None:
    _raise(licenses_stand(order, on))


def label_refuse(order: WorkOrder, *, today: date) -> None:
    _raise(label_stands(order, today=today))


def _raise(refusal: Refusal | None) -> None:
    if refusal is not None:
        raise refusal


def checklist_stands(order: WorkOrder) -> ChecklistOpen | None:
    still_open = checklist_open(order.site, order.last_day)
    if not still_open:
        return None
    errors = [FieldError(row.question.code, f"{row.question.question} {row.why}") for row in still_open]
    return ChecklistOpen(f"{order.site.name} has questions that must be answered before work is ordered.", errors)


def licenses_stand(order: WorkOrder, on: date | None = None) -> LicenseMissing | None:
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
    return LicenseMissing(f"{order.crew} may not do all of {order}.", errors) if errors else None


def _served(visit: Visit, method_id: int) -> bool:
    return any(share.prescription.method_id == method_id for share in visit.shares.all())


def mixes_stand(order: WorkOrder) -> MixMissing | None:
    asked = order_prescriptions(order).filter(method__uses_herbicide=True)
    names = sorted({one.method.name for one in asked if not one.estimate.products_ul})
    errors = [FieldError("method", f"{name} has no mix: give the method one, and estimate again.") for name in names]
    return MixMissing(f"No label was looked at for all of {order}.", errors) if errors else None


def uses_stand(order: WorkOrder) -> OutOfUse | None:
    """Estimates keep the mix that they were made with; it may have gone out of use since, or what it holds."""
    rows = order_prescriptions(order).select_related("estimate__mix").defer("estimate__inputs", "estimate__result")
    asked = [one.estimate for one in rows]
    codes = {code for estimate in asked for code in estimate.products_ul}
    gone = products_out_of_use(product.pk for product in products_named(codes).values())
    names = sorted({*mixes_out_of_use(estimate.mix for estimate in asked), *gone.values()})
    advice = "give the method another mix and estimate again, or put it back in use"
    errors = [FieldError("mix", f"{name} is no longer in use: {advice}.", code="out_of_use") for name in names]
    return OutOfUse(f"{order} asks for what the program no longer uses.", errors) if errors else None


def label_standing(order: WorkOrder, *, today: date) -> list[Finding]:
    """What the labels say against it that nobody has let pass. An override is of one kind of limit: a reason that was
    given for a policy does not speak for a label's advice."""
    findings = label_findings(order, today=today)
    rows = rows_of(proposed_uses(order))
    passed = {(override.limit_kind, override.limit) for override in order.overrides.order_by("id")}
    return [
        finding
        for finding in findings
        if blocking([finding], [(limit, row) for kind, limit in passed if kind == finding.kind for row in rows])
    ]


def label_stands(order: WorkOrder, *, today: date) -> LabelForbids | None:
    standing = label_standing(order, today=today)
    if not standing:
        return None
    errors = [FieldError(finding.rows[0], finding.message, code=finding.code) for finding in standing]
    data = {"kinds": sorted({str(finding.kind) for finding in standing})}
    return LabelForbids(f"{THE_LAW} This order cannot be issued.", errors, data)
