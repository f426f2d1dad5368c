from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "orders.reports"
    label = "reports"
