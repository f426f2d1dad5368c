from django.apps import AppConfig


class CostsConfig(AppConfig):
    name = "orders.costs"
    label = "costs"
