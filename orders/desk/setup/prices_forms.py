"""What may be typed about a price: of what, from which day, and where the figure is from."""

from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms

from estimating.units import LITRES_PER_US_GALLON, SQUARE_METRES_PER_ACRE, SQUARE_METRES_PER_HECTARE
from orders.estimates.models import Method
from orders.supplies.models import Price, Product

DOLLAR_E4 = 10_000
OWN = {"mileage": "A mile driven", "fuel": "A gallon of fuel", "blade": "A blade", "bag": "A bag"}
# What is sold by the gallon and the acre is kept by the liter and the hectare.
KEPT_IN_ONE = {
    "product": Decimal(str(LITRES_PER_US_GALLON)),
    "fuel": Decimal(str(LITRES_PER_US_GALLON)),
    "contract": Decimal(str(SQUARE_METRES_PER_ACRE)) / Decimal(str(SQUARE_METRES_PER_HECTARE)),
}


def names() -> dict[tuple[str, str], str]:
    """What a price is of, in words, by kind and code."""
    products = {("product", code): name for code, name in Product.objects.values_list("code", "name")}
    listed = list(Method.objects.values_list("code", "name"))
    machines = {("equipment", code): f"Equipment of {name}, an hour" for code, name in listed}
    contracts = {("contract", code): f"A contractor's {name}, an acre" for code, name in listed}
    return products | {(kind, kind): words for kind, words in OWN.items()} | machines | contracts


def _choices() -> list[Any]:
    grouped: dict[str, list[tuple[str, str]]] = {}
    heads = dict(Price.KINDS) | dict.fromkeys(OWN, "Driving and consumables") | {"product": "Products, a gallon"}
    for (kind, code), words in names().items():
        grouped.setdefault(heads[kind], []).append((f"{kind}:{code}", words))
    return [("", "Choose"), *grouped.items()]


class PriceForm(forms.Form):
    of = forms.ChoiceField(label="Of what", help_text="Gallons, each, miles, hours or acres go with it by themselves.")
    from_day = forms.DateField(
        label="From",
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Work from that day on is priced by it. The price before stays for what came before.",
    )
    price = forms.DecimalField(
        min_value=0,
        max_value=100_000,
        max_digits=10,
        decimal_places=4,
        label="Dollars a unit",
        help_text="Kept to a hundredth of a cent a liter or hectare.",
    )
    minimum = forms.DecimalField(
        required=False,
        min_value=0,
        max_value=100_000,
        max_digits=10,
        decimal_places=4,
        label="Least for a job, dollars",
        help_text="Of a contract only: what the contractor asks however small the job is.",
    )
    source = forms.CharField(
        max_length=200, label="Source", help_text="A bill, a quote or a price list, with its date."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["of"].choices = _choices()  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        told = self.cleaned_data
        kind, _, code = told["of"].partition(":")
        least = None if told["minimum"] is None else int(told["minimum"] * DOLLAR_E4)
        values = {"kind": kind, "code": code, "from_day": told["from_day"], "source": told["source"]}
        return values | {"price_e4": _kept_e4(kind, told["price"]), "minimum_e4": least}


def _kept_e4(kind: str, price: Decimal) -> int:
    return int((price * DOLLAR_E4 / KEPT_IN_ONE.get(kind, Decimal(1))).to_integral_value(ROUND_HALF_UP))


def shown_e4(row: Price) -> int:
    """The price of what it is sold by; of a gallon or an acre to the cent, which is as near as it is kept."""
    if row.kind not in KEPT_IN_ONE:
        return row.price_e4
    return int((row.price_e4 * KEPT_IN_ONE[row.kind] / 100).to_integral_value(ROUND_HALF_UP)) * 100
