from django.apps import AppConfig


class WorkordersConfig(AppConfig):
    name = "orders.workorders"
    label = "workorders"
