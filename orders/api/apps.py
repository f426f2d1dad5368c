from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "orders.api"
    label = "api"
