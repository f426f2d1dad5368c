"""Permits of trained volunteers: which products, on which land, until when. They let nobody mix."""

from collections.abc import Collection, Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from orders.common.changes import change_record
from orders.common.errors import NotFound
from orders.common.rows import Findings, row_edit, row_facts
from orders.common.stamp import Stamp
from orders.common.transactions import writing
from orders.crews.models import Person
from orders.sites.models import Site
from orders.supplies.models import Product, VolunteerPermit


def permits() -> QuerySet[VolunteerPermit]:
    rows = VolunteerPermit.objects.select_related("person").prefetch_related("products", "sites")
    return rows.order_by("-last_day", "id")


def permit_get(permit_id: UUID) -> VolunteerPermit:
    found = permits().filter(public_id=permit_id).first()
    if found is None:
        raise NotFound("There is no such permit.")
    return found


@writing()
def permit_add(
    *,
    person: Person,
    products: Collection[Product],
    sites: Collection[Site],
    trained_by: str,
    trained_on: date,
    first_day: date,
    last_day: date,
    certificate: str = "",
    stamp: Stamp,
) -> VolunteerPermit:
    """Whether volunteers may apply at all is a matter of the state's rules on record."""
    row = VolunteerPermit(
        person=person,
        certificate=certificate,
        trained_by=trained_by,
        trained_on=trained_on,
        first_day=first_day,
        last_day=last_day,
    )
    found = Findings()
    found.need(bool(products), "products", "Name one product at least.")
    strange = sorted(product.name for product in products if not product.is_herbicide)
    found.need(not strange, "products", f"No herbicide: {', '.join(strange)}.")
    found.need(bool(sites), "sites", "Name one site at least.")
    _days_check(found, trained_on, first_day, last_day)
    found.row(row)
    found.refuse("The permit was not added.")
    row.save(force_insert=True)
    row.products.set(products)
    row.sites.set(sites)
    named = {"products": sorted(product.code for product in products), "sites": sorted(site.code for site in sites)}
    change_record(stamp=stamp, verb="permit_add", entity=row, after=row_facts(row) | named)
    return row


def _days_check(found: Findings, trained_on: date, first_day: date, last_day: date) -> None:
    found.days_in_order(first_day, last_day)
    within = first_day.year == last_day.year
    found.need(within, "last_day", f"A permit ends on December 31, {first_day.year}, at the latest.")
    found.need(trained_on <= first_day, "first_day", "A permit begins after the training, not before it.")


@writing()
def permit_edit(*, permit: VolunteerPermit, values: Mapping[str, Any], expected: int, stamp: Stamp) -> VolunteerPermit:
    """Change its last day or its certificate. Other products or land need another permit, with its own training."""
    told = {name: value for name, value in values.items() if name in {"last_day", "certificate"}}
    found = Findings()
    _days_check(found, permit.trained_on, permit.first_day, told.get("last_day", permit.last_day))
    found.refuse("The permit was not changed.")
    return row_edit(permit, stamp=stamp, verb="permit_edit", expected=expected, values=told)
