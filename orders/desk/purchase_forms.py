"""What may be typed about purchase orders, bills, stock, equipment hours and trips."""

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from uuid import UUID

from django import forms

from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.costs.purchase_selectors import purchase_line_get, vendors
from orders.costs.selectors import award_get, fund_get, funds
from orders.crews.models import Person
from orders.crews.selectors import person_get
from orders.desk.site_forms import day_field
from orders.planning.models import Visit
from orders.sites.models import Site
from orders.sites.selectors import site_get
from orders.supplies.amounts import ENTRY_UNITS, price_of_large
from orders.supplies.models import Equipment, Product, StockLot
from orders.supplies.selectors import equipment_get, lot_get, product_get
from orders.workorders.models import WorkOrder
from orders.workorders.selectors import order_by_number, order_visits

BOUGHT = [
    ("contract", "Contract"),
    ("material", "Material"),
    ("equipment", "Equipment"),
    ("mileage", "Mileage"),
    ("other", "Other"),
]
NONE = [("", "None")]
CENTS = 100
E4 = 10_000
MOST_ORDER = 2**31 - 1


def dollars(label: str, **more: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label, min_value=Decimal("0.01"), max_value=Decimal(10**9), decimal_places=2, **more
    )


def maybe_day(label: str) -> forms.DateField:
    field = day_field(label)
    field.required = False
    return field


def order_number(**more: Any) -> forms.IntegerField:
    return forms.IntegerField(
        label="Work order", required=False, min_value=1, max_value=MOST_ORDER, help_text="Its number.", **more
    )


def _payers() -> list[tuple[str, str]]:
    """Funds, and each award under the fund that pays through it."""
    listed = []
    for fund in funds():
        listed.append((str(fund.public_id), f"{fund.code} {fund.name}"))
        listed += [
            (f"{fund.public_id}/{award.public_id}", f"{fund.code} / {award.code} {award.name}")
            for award in sorted(fund.awards.all(), key=lambda award: award.code)
        ]
    return listed


def payer_of(text: str) -> dict[str, Any]:
    fund, _, award = text.partition("/")
    return {"fund": fund_get(UUID(fund)), "award": award_get(UUID(award)) if award else None}


def _choices(rows: Any, name: str = "name") -> list[tuple[str, str]]:
    return NONE + [(str(key), str(words)) for key, words in rows.values_list("public_id", name)]


class VendorForm(forms.Form):
    name = forms.CharField(max_length=120, label="Name")
    kind = forms.ChoiceField(choices=[("contractor", "Contractor"), ("supplier", "Supplier")], label="Kind")
    contact = forms.CharField(max_length=200, required=False, label="Contact")


class ReasonForm(forms.Form):
    reason = forms.CharField(max_length=200, label="Why")


class PaidForm(forms.Form):
    paid_on = day_field("Paid on")


class StateForm(forms.Form):
    """Narrowing a list, and how far it is turned."""

    state = forms.ChoiceField(required=False, label="State")
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)

    def __init__(self, *args: Any, states: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["state"] = forms.ChoiceField(required=False, label="State", choices=[("", "All"), *states])


class PurchaseNamedForm(forms.Form):
    """Which purchase order a new bill is for."""

    purchase = forms.UUIDField(required=False)


class PurchaseForm(forms.Form):
    vendor = forms.ChoiceField(label="Vendor")
    ordered_on = day_field("Ordered on")
    wanted_by = maybe_day("Wanted by")
    is_subaward = forms.BooleanField(required=False, label="Another carries out a part of an award (subaward)")
    note = forms.CharField(max_length=300, required=False, label="Note")

    def __init__(self, *args: Any, actor: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        active = vendors(actor).filter(is_active=True)
        self.fields["vendor"] = forms.ChoiceField(label="Vendor", choices=_choices(active)[1:])


class BillForm(forms.Form):
    vendor = forms.ChoiceField(label="Vendor")
    number = forms.CharField(max_length=60, label="Number of the bill", help_text="The vendor's.")
    billed_on = day_field("Billed on")
    due_on = maybe_day("Due on")
    worked_on = day_field("Work done, or goods received, on")
    total = dollars("Total, dollars", help_text="The lines sum to it.")
    note = forms.CharField(max_length=300, required=False, label="Note")
    purchase = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, actor: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["vendor"] = forms.ChoiceField(label="Vendor", choices=_choices(vendors(actor))[1:])


class LineForm(forms.Form):
    """A line of either; an empty one is passed over."""

    category = forms.ChoiceField(choices=BOUGHT, label="Category")
    description = forms.CharField(max_length=200, label="What for")
    amount = dollars("Amount, dollars")
    payer = forms.ChoiceField(label="Paid by")
    site = forms.ChoiceField(required=False, label="Site")
    order = order_number()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["payer"] = forms.ChoiceField(label="Paid by", choices=_payers())
        sites = _choices(Site.objects.order_by("name"))
        self.fields["site"] = forms.ChoiceField(required=False, label="Site", choices=sites)

    def has_changed(self) -> bool:
        """What a select shows by itself is nothing typed."""
        return any(self.data.get(self.add_prefix(name)) for name in ("description", "amount"))

    def line(self, actor: User, on: date) -> dict[str, Any]:
        told = self.cleaned_data
        return {
            "category": told["category"],
            "description": told["description"],
            "amount_cents": int(told["amount"] * CENTS),
            **payer_of(told["payer"]),
            "site": site_get(UUID(told["site"])) if told["site"] else None,
            "work_order": order_by_number(actor, told["order"], on=on) if told["order"] else None,
        }


class PurchaseLineForm(LineForm):
    quantity = forms.DecimalField(
        label="Quantity", min_value=Decimal("0.001"), max_value=Decimal(10**8), decimal_places=3, initial=1
    )
    unit = forms.CharField(max_length=20, label="Unit", initial="each")
    product = forms.ChoiceField(required=False, label="Product")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        products = _choices(Product.objects.filter(is_active=True).order_by("name"))
        self.fields["product"] = forms.ChoiceField(required=False, label="Product", choices=products)

    def line(self, actor: User, on: date) -> dict[str, Any]:
        told = self.cleaned_data
        product = product_get(UUID(told["product"])) if told["product"] else None
        return {
            **super().line(actor, on),
            "quantity": told["quantity"],
            "unit": told["unit"],
            "product": product,
        }


class BillLineForm(LineForm):
    purchase_line = forms.UUIDField(required=False, widget=forms.HiddenInput)

    lot = forms.ChoiceField(required=False, label="Lot in stock")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lots = StockLot.objects.select_related("product").order_by("-received_on", "-id")
        named = [(str(lot.public_id), f"{lot.product.name}, lot {lot.lot_number}") for lot in lots[:200]]
        self.fields["lot"] = forms.ChoiceField(
            required=False,
            label="Lot in stock",
            choices=NONE + named,
            help_text="It pays for stock, and is no cost yet.",
        )

    def line(self, actor: User, on: date) -> dict[str, Any]:
        lot, bought = self.cleaned_data["lot"], self.cleaned_data["purchase_line"]
        return {
            **super().line(actor, on),
            "lot": lot_get(UUID(lot)) if lot else None,
            "purchase_line": purchase_line_get(actor, bought) if bought else None,
        }


PurchaseLines = forms.formset_factory(PurchaseLineForm, extra=3, max_num=40, absolute_max=60)
BillLines = forms.formset_factory(BillLineForm, extra=3, max_num=40, absolute_max=60)


def lines_of_purchase(purchase: Any) -> list[dict[str, Any]]:
    """Lines of a bill filled in with what is still committed of a purchase order."""
    return [
        {
            "category": line.category,
            "description": line.description,
            "amount": Decimal(line.committed_cents) / CENTS,
            "payer": f"{line.fund.public_id}/{line.award.public_id}" if line.award else str(line.fund.public_id),
            "site": str(line.site.public_id) if line.site else "",
            "order": line.work_order.number if line.work_order else None,
            "purchase_line": line.public_id,
        }
        for line in purchase.lines.all()
        if line.committed_cents > 0
    ]


def lines_read(lines: Any, actor: User, on: date) -> list[dict[str, Any]]:
    return [form.line(actor, on) for form in lines if form.has_changed()]


class ReceiveForm(forms.Form):
    product = forms.ChoiceField(label="Product")
    lot_number = forms.CharField(max_length=40, label="Lot number")
    amount = forms.DecimalField(label="Amount", min_value=Decimal("0.0001"), max_value=Decimal(10**6), decimal_places=4)
    unit = forms.ChoiceField(choices=[(unit, unit) for unit in ENTRY_UNITS], label="Unit")
    price = dollars("Price per unit, dollars")
    received_on = day_field("Received on")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        products = _choices(Product.objects.order_by("name"))[1:]
        self.fields["product"] = forms.ChoiceField(label="Product", choices=products)

    def facts(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        price = told.pop("price")
        price_e4 = (price_of_large(price, told["unit"]) * E4).to_integral_value(ROUND_HALF_UP)
        return {**told, "product": product_get(UUID(told["product"])), "price_e4": int(price_e4)}


class MoveForm(forms.Form):
    """A count says what was found there; a write-off what is gone."""

    kind = forms.ChoiceField(choices=[("count", "Count"), ("write_off", "Write off")], label="What")
    lot = forms.ChoiceField(label="Lot")
    amount = forms.DecimalField(label="Amount", min_value=Decimal(0), max_value=Decimal(10**6), decimal_places=4)
    unit = forms.ChoiceField(choices=[(unit, unit) for unit in ENTRY_UNITS], label="Unit")
    on = day_field("Day")
    reason = forms.CharField(max_length=200, label="Why")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        lots = StockLot.objects.select_related("product").order_by("product__name", "-received_on", "-id")
        named = [(str(lot.public_id), f"{lot.product.name}, lot {lot.lot_number}") for lot in lots]
        self.fields["lot"] = forms.ChoiceField(label="Lot", choices=named)

    def facts(self) -> dict[str, Any]:
        return {**self.cleaned_data, "lot": lot_get(UUID(self.cleaned_data["lot"]))}


class OrderForm(forms.Form):
    """Of which order hours or miles are entered."""

    order = forms.IntegerField(required=False, min_value=1, max_value=MOST_ORDER, label="Work order")
    page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)
    trips_page = forms.IntegerField(required=False, min_value=1, max_value=1_000_000)


def _visits(order: WorkOrder) -> list[tuple[str, str]]:
    return [(str(visit.public_id), f"{visit.day:%b %-d, %Y}, {visit.crew}") for visit in order_visits(order)]


def visit_of(order: WorkOrder, text: str) -> Visit:
    found = order_visits(order).filter(public_id=UUID(text)).first()
    if found is None:
        raise Invalid("The order has no such visit.", [FieldError("visit", "is not on the order")])
    return found


class HoursForm(forms.Form):
    equipment = forms.ChoiceField(label="Machine")
    visit = forms.ChoiceField(label="Visit")
    method_code = forms.ChoiceField(
        required=False, label="Method", help_text="Whose standard hours these stand instead of."
    )
    work_date = day_field("Day")
    operating_minutes = forms.IntegerField(min_value=0, max_value=1440, label="Operating, minutes")
    standby_minutes = forms.IntegerField(
        min_value=0, max_value=1440, initial=0, label="Standby, minutes", help_text="It costs nothing."
    )

    def __init__(self, *args: Any, order: WorkOrder, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order = order
        methods = sorted(
            {share.prescription.method for visit in order_visits(order) for share in visit.shares.all()},
            key=lambda method: method.code,
        )
        named = [(method.code, method.name) for method in methods]
        help_text = self.fields["method_code"].help_text
        self.fields["equipment"] = forms.ChoiceField(
            label="Machine", choices=_choices(Equipment.objects.order_by("name"))[1:]
        )
        self.fields["visit"] = forms.ChoiceField(label="Visit", choices=_visits(order))
        self.fields["method_code"] = forms.ChoiceField(
            required=False, label="Method", choices=[*named, *NONE], help_text=help_text
        )

    def facts(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        told["equipment"] = equipment_get(UUID(told["equipment"]))
        return {**told, "visit": visit_of(self.order, told["visit"])}


class TripForm(forms.Form):
    vehicle = forms.CharField(max_length=60, label="Vehicle")
    work_date = day_field("Day")
    miles = forms.DecimalField(
        label="Miles, by the odometer", min_value=Decimal("0.1"), max_value=Decimal(2000), decimal_places=1
    )
    person = forms.ChoiceField(required=False, label="Driver")
    purpose = forms.CharField(max_length=120, required=False, label="Purpose")

    def __init__(self, *args: Any, order: WorkOrder | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order = order
        people = _choices(Person.objects.order_by("name"))
        self.fields["person"] = forms.ChoiceField(required=False, label="Driver", choices=people)
        if order is not None:
            self.fields["visit"] = forms.ChoiceField(
                required=False,
                label="Visit",
                choices=NONE + _visits(order),
                help_text="Whose miles by the map these stand instead of.",
            )

    def facts(self) -> dict[str, Any]:
        told = dict(self.cleaned_data)
        visit, person, miles = told.pop("visit", ""), told.pop("person"), told.pop("miles")
        return {
            **told,
            "miles_tenths": int(miles * 10),
            "order": self.order,
            "visit": visit_of(self.order, visit) if self.order and visit else None,
            "person": person_get(UUID(person)) if person else None,
        }


class HoursCorrectForm(ReasonForm):
    operating_minutes = forms.IntegerField(min_value=0, max_value=1440, label="Operating, minutes")
    standby_minutes = forms.IntegerField(min_value=0, max_value=1440, label="Standby, minutes")


class TripCorrectForm(ReasonForm):
    miles = forms.DecimalField(label="Miles", min_value=Decimal(0), max_value=Decimal(2000), decimal_places=1)
