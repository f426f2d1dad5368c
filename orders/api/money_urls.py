"""Addresses of the API about money."""

from django.urls import URLPattern

from orders.api import funds, ledger
from orders.api.addresses import at

urlpatterns: list[URLPattern] = [
    at("funds", funds.Funds),
    at("awards", funds.Awards),
    at("pay-rates", funds.PayRates),
    at("ledger", ledger.Ledger),
    at("reports/costs", ledger.CostsReport),
]
