from django.apps import AppConfig


class CrewsConfig(AppConfig):
    name = "orders.crews"
    label = "crews"
