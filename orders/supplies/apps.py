from django.apps import AppConfig


class SuppliesConfig(AppConfig):
    name = "orders.supplies"
    label = "supplies"
