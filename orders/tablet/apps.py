from django.apps import AppConfig


class TabletConfig(AppConfig):
    name = "orders.tablet"
    label = "tablet"
