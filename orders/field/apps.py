from django.apps import AppConfig


class FieldConfig(AppConfig):
    name = "orders.field"
    label = "field"
