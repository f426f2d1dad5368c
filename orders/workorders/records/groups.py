"""What one record is of: all that a responsible applicator put out of one mix at one place on one day."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from django.db.models import Exists, OuterRef, Q, QuerySet

from orders.common.stamp import Stamp
from orders.crews.models import Person
from orders.sites.models import Site
from orders.workorders.models import Application, BatchPart, MixBatch, WorkOrder
from orders.workorders.records.fields import Known

RELATED = ("batch__crew", "batch__mix", "site__jurisdiction", "responsible", "order", "prescription__patch")
HEAVY = ("site__boundary", "order__label")


class GroupKey(NamedTuple):
    batch_id: int
    site_id: int
    work_date: date
    responsible_id: int


@dataclass(frozen=True)
class RecordGroup:
    key: GroupKey
    applications: tuple[Application, ...]

    @property
    def batch(self) -> MixBatch:
        return self.applications[0].batch

    @property
    def site(self) -> Site:
        return self.applications[0].site

    @property
    def responsible(self) -> Person:
        return self.applications[0].responsible

    @property
    def work_date(self) -> date:
        return self.key.work_date

    @property
    def started_at(self) -> datetime:
        return min(row.started_at for row in self.applications)

    @property
    def ended_at(self) -> datetime:
        return max(row.at for row in self.applications)

    @property
    def used_on(self) -> date:
        """The day at the site on which the application ended: terms count from it."""
        return Stamp(by=None, at=self.ended_at).local_date(self.site.time_zone)

    @property
    def volume_ul(self) -> int:
        return sum(row.volume_ul for row in self.applications)

    @property
    def orders(self) -> list[WorkOrder]:
        return sorted({row.order for row in self.applications}, key=lambda order: order.number)

    @property
    def known(self) -> Known:
        products = [part.product for part in self.batch.parts.all()]
        named = [product.code for product in products]
        return Known(named, [product.code for product in products if product.is_herbicide])


def applications_standing() -> QuerySet[Application]:
    """Those that no correction replaced, of mixes that hold a herbicide: of others no record is owed."""
    herbicide = BatchPart.objects.filter(batch=OuterRef("batch"), product__is_herbicide=True)
    rows = Application.objects.filter(Exists(herbicide), replaced_by__isnull=True)
    rows = rows.select_related(*RELATED).defer(*HEAVY).order_by("work_date", "started_at", "id")
    return rows.prefetch_related("batch__parts__product", "people__person")


def groups_of(applications: Iterable[Application]) -> list[RecordGroup]:
    found: dict[GroupKey, list[Application]] = defaultdict(list)
    for row in applications:
        found[GroupKey(row.batch_id, row.site_id, row.work_date, row.responsible_id)].append(row)
    return [RecordGroup(key, tuple(rows)) for key, rows in found.items()]


def group_find(batch: MixBatch, site: Site, work_date: date, responsible: Person) -> RecordGroup | None:
    own = Q(batch=batch, site=site, work_date=work_date, responsible=responsible)
    return next(iter(groups_of(applications_standing().filter(own))), None)
