"""What a search looks through, in the order in which people mostly look. Each kind opens to the roles of its pages and
reads by the scope of its own selector."""

from typing import Any

from django.db.models import CharField, F
from django.db.models.functions import Cast

from orders.common.models import User
from orders.common.models.user import ADMINISTRATOR, COORDINATOR, CREW_LEAD, FINANCE, PESTICIDE_SUPERVISOR
from orders.costs.models import Award, Bill, Fund, PurchaseOrder
from orders.crews.models import Crew, Person
from orders.estimates.models import Method
from orders.field.models import Device
from orders.field.selectors.flags import flags_of
from orders.planning.models import Season
from orders.reports.search.hits import Hit, Kind
from orders.sites.models import Patch, Site, Species, SurveyImport
from orders.supplies.models import Product
from orders.workorders.field_facts import incidents_of
from orders.workorders.records.lists import records_of
from orders.workorders.selectors import orders_of

EVERY_ROLE = frozenset({COORDINATOR, CREW_LEAD, PESTICIDE_SUPERVISOR, FINANCE, ADMINISTRATOR})
OFFICE = EVERY_ROLE - {CREW_LEAD}
DESK = frozenset({COORDINATOR, ADMINISTRATOR})
GROUND = DESK | {PESTICIDE_SUPERVISOR, CREW_LEAD}
MONEY = frozenset({FINANCE, ADMINISTRATOR})


def _orders(actor: User, on: Any) -> Any:
    rows = orders_of(actor, on=on).defer("site__boundary", "label", "instructions")
    return rows.annotate(number_text=Cast("number", CharField()))


def _order(row: Any) -> Hit:
    about = f"{row.site.name}, {row.crew.name}, {row.first_day:%b} {row.first_day.day}, {row.first_day.year}"
    return Hit(f"Work order {row.number}", f"{about}, {row.get_state_display().lower()}", row.public_id)


def _patch(row: Any) -> Hit:
    ended = f", ended {row.ended_on}" if row.ended_on else ""
    return Hit(
        f"{row.code} {row.name}".strip(),
        f"{row.site.name}, {row.get_control_state_display().lower()}{ended}",
        row.public_id,
    )


def _record(row: Any) -> Hit:
    products = ", ".join(part.product.name for part in row.batch.parts.all())
    return Hit(f"{row.site.name}, {row.work_date}", f"{row.responsible.name}: {products}", row.public_id)


def _product(row: Any) -> Hit:
    number = row.registration_number or "no registration number"
    return Hit(row.name, number if row.is_active else f"{number}, no longer in use", row.public_id)


KINDS = (
    Kind(
        code="order",
        words="Work orders",
        page="order",
        roles=EVERY_ROLE,
        fields=("number_text", "site__name", "site__code", "crew__name", "instructions"),
        rows=_orders,
        hit=_order,
    ),
    Kind(
        code="patch",
        words="Patches",
        page="patch",
        roles=OFFICE,
        fields=("code", "name", "site__code", "site__name"),
        rows=lambda actor, on: (
            Patch.objects.select_related("site").defer("site__boundary").order_by("site__code", "code")
        ),
        hit=_patch,
    ),
    Kind(
        code="site",
        words="Sites",
        page="site",
        roles=EVERY_ROLE,
        fields=("code", "name", "access_notes"),
        rows=lambda actor, on: Site.objects.defer("boundary").select_related("jurisdiction").order_by("code"),
        hit=lambda row: Hit(row.name, f"{row.code}, {row.jurisdiction.name}", row.public_id),
    ),
    Kind(
        code="season",
        words="Seasons",
        page="season",
        roles=OFFICE,
        fields=("name",),
        rows=lambda actor, on: Season.objects.order_by("-first_day"),
        hit=lambda row: Hit(row.name, f"{row.first_day} to {row.last_day}", row.public_id),
    ),
    Kind(
        code="person",
        words="People",
        page="setup-person",
        roles=DESK,
        fields=("name", "email", "role__name"),
        rows=lambda actor, on: Person.objects.select_related("role").order_by("name"),
        hit=lambda row: Hit(row.name, f"{row.role.name}{'' if row.is_active else ', left'}", row.public_id),
    ),
    Kind(
        code="crew",
        words="Crews",
        page="setup-crew",
        roles=DESK,
        fields=("name",),
        rows=lambda actor, on: Crew.objects.order_by("name"),
        hit=lambda row: Hit(row.name, f"{float(row.hours_a_day):g} h a day", row.public_id),
    ),
    Kind(
        code="product",
        words="Products",
        page="product",
        roles=EVERY_ROLE,
        fields=("name", "code", "registration_number"),
        rows=lambda actor, on: Product.objects.order_by("name"),
        hit=_product,
    ),
    Kind(
        code="species",
        words="Species",
        page="setup-species-one",
        roles=DESK,
        fields=("common_name", "scientific_name", "code"),
        rows=lambda actor, on: Species.objects.order_by("common_name"),
        hit=lambda row: Hit(row.common_name, row.scientific_name, row.public_id),
    ),
    Kind(
        code="method",
        words="Methods",
        page="setup-method",
        roles=DESK,
        fields=("name", "code"),
        rows=lambda actor, on: Method.objects.order_by("name"),
        hit=lambda row: Hit(row.name, row.code, row.public_id),
    ),
    Kind(
        code="record",
        words="Application records",
        page="record",
        roles=GROUND,
        fields=("site__name", "site__code", "responsible__name", "signed_by", "batch__mix__name"),
        rows=lambda actor, on: records_of(actor, on=on),
        hit=_record,
    ),
    Kind(
        code="flag",
        words="Flags",
        page="flag",
        roles=GROUND,
        fields=("title", "order__site__name", "crew__name"),
        rows=lambda actor, on: flags_of(actor, on=on),
        hit=lambda row: Hit(row.title, row.get_state_display().lower(), row.public_id),
    ),
    Kind(
        code="incident",
        words="Incidents",
        page="incident",
        roles=GROUND,
        fields=("what_happened", "site__name", "crew__name"),
        rows=lambda actor, on: incidents_of(actor, on=on),
        hit=lambda row: Hit(f"{row.get_kind_display()}, {row.work_date}", row.what_happened[:80], row.public_id),
    ),
    Kind(
        code="survey_file",
        words="Survey files",
        page="run-progress",
        roles=DESK,
        fields=("file_name",),
        rows=lambda actor, on: SurveyImport.objects.defer("file_bytes", "errors", "warnings", "mapping").order_by(
            "-id"
        ),
        hit=lambda row: Hit(row.file_name, f"{row.rows_read} rows, {row.asked_at:%Y-%m-%d}", row.public_id),
    ),
    Kind(
        code="tablet",
        words="Tablets",
        page="tablet",
        roles=DESK,
        fields=("name",),
        rows=lambda actor, on: Device.objects.order_by("name"),
        hit=lambda row: Hit(row.name, "revoked" if row.revoked_at else "enrolled", row.public_id),
    ),
    Kind(
        code="fund",
        words="Funds",
        page="money-fund",
        roles=MONEY,
        fields=("code", "name"),
        rows=lambda actor, on: Fund.objects.order_by("code"),
        hit=lambda row: Hit(row.name, row.code, row.public_id),
    ),
    Kind(
        code="award",
        words="Awards",
        page="money-award",
        roles=MONEY,
        fields=("code", "name", "fund__name"),
        rows=lambda actor, on: Award.objects.select_related("fund").order_by("code"),
        hit=lambda row: Hit(f"{row.code} {row.name}", row.fund.name, row.public_id),
    ),
    Kind(
        code="purchase_order",
        words="Purchase orders",
        page="purchase",
        roles=MONEY,
        fields=("number_text", "vendor__name"),
        rows=lambda actor, on: (
            PurchaseOrder.objects.annotate(number_text=Cast(F("number"), CharField()))
            .select_related("vendor")
            .order_by("-number")
        ),
        hit=lambda row: Hit(
            f"Purchase order {row.number}", f"{row.vendor.name}, {row.get_state_display().lower()}", row.public_id
        ),
    ),
    Kind(
        code="bill",
        words="Bills",
        page="bill",
        roles=MONEY,
        fields=("number", "vendor__name"),
        rows=lambda actor, on: Bill.objects.select_related("vendor").order_by("-id"),
        hit=lambda row: Hit(
            f"Bill {row.number}", f"{row.vendor.name}, {row.get_state_display().lower()}", row.public_id
        ),
    ),
)
