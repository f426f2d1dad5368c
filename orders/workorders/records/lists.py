"""Records as people look for them, in the actor's scope: the office sees all, a crew lead those of own crews' mixes."""

from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from orders.common.errors import NotFound
from orders.common.models import User
from orders.workorders.field_facts import crew_scope
from orders.workorders.models import Application, ApplicationRecord, BatchPart
from orders.workorders.records.groups import applications_standing
from orders.workorders.records.states import records_standing

STATES = [("complete", "Complete"), ("incomplete", "Incomplete")]
RELATED = ("batch__crew", "batch__mix", "site__jurisdiction", "responsible", "profile", "by", "amends")
CREWS = ("batch__crew",)


def records_of(actor: User, *, on: date) -> QuerySet[ApplicationRecord]:
    """The revisions that stand."""
    rows = records_standing().filter(crew_scope(actor, on=on, crews=CREWS, users=("by",)))
    rows = rows.select_related(*RELATED).defer("site__boundary").order_by("-work_date", "-id")
    return rows.prefetch_related("batch__parts__product")


def record_get(actor: User, record_id: UUID, *, on: date) -> ApplicationRecord:
    """Any revision."""
    rows = ApplicationRecord.objects.filter(crew_scope(actor, on=on, crews=CREWS, users=("by",)))
    rows = rows.select_related(*RELATED, "amended_by", "site").prefetch_related("batch__parts__product", "holds")
    found = rows.filter(public_id=record_id).first()
    if found is None:
        raise NotFound("There is no such record.")
    return found


def record_revisions(record: ApplicationRecord) -> QuerySet[ApplicationRecord]:
    """All of the same uses, the first one first."""
    same = {name: getattr(record, name) for name in ("batch", "site", "work_date", "responsible")}
    return ApplicationRecord.objects.filter(**same).select_related("by").order_by("revision")


def uses_of(actor: User, *, on: date) -> QuerySet[Application]:
    """The uses of which the actor may see the records."""
    return applications_standing().filter(crew_scope(actor, on=on, crews=CREWS, users=("by",)))


def with_product(rows: QuerySet[ApplicationRecord], code: str) -> QuerySet[ApplicationRecord]:
    return rows.filter(Exists(BatchPart.objects.filter(batch=OuterRef("batch"), product__code=code)))


def in_state(rows: QuerySet[ApplicationRecord], state: str) -> QuerySet[ApplicationRecord]:
    return rows.filter(missing=[]) if state == "complete" else rows.exclude(missing=[])
