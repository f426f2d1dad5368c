"""What may be typed about a price: of what, from which day, and where the figure is from."""

from typing import Any

from django import forms

from orders.estimates.models import Method
from orders.supplies.models import Price, Product

DOLLAR_E4 = 10_000
OWN = {"mileage": "A mile driven", "fuel": "A liter of fuel", "blade": "A blade", "bag": "A bag"}


def names() -> dict[tuple[str, str], str]:
    """What a price is of, in words, by kind and code."""
    products = {("product", code): name for code, name in Product.objects.values_list("code", "name")}
    listed = list(Method.objects.values_list("code", "name"))
    machines = {("equipment", code): f"Equipment of {name}, an hour" for code, name in listed}
    contracts = {("contract", code): f"A contractor's {name}, a hectare" for code, name in listed}
    return products | {(kind, kind): words for kind, words in OWN.items()} | machines | contracts


def _choices() -> list[Any]:
    grouped: dict[str, list[tuple[str, str]]] = {}
    heads = dict(Price.KINDS) | dict.fromkeys(OWN, "Driving and consumables") | {"product": "Products, a liter"}
    for (kind, code), words in names().items():
        grouped.setdefault(heads[kind], []).append((f"{kind}:{code}", words))
    return [("", "Choose"), *grouped.items()]


class PriceForm(forms.Form):
    of = forms.ChoiceField(
        label="Of what", help_text="Liters, each, miles, hours or hectares go with it by themselves."
    )
    from_day = forms.DateField(
        label="From",
        widget=forms.DateInput(attrs={"type": "date"}),
        help_text="Work from that day on is priced by it. The price before stays for what came before.",
    )
    price = forms.DecimalField(min_value=0, max_value=100_000, max_digits=10, decimal_places=4, label="Dollars a unit")
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
        return values | {"price_e4": int(told["price"] * DOLLAR_E4), "minimum_e4": least}
