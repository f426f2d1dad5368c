from django.apps import AppConfig


class EstimatesConfig(AppConfig):
    name = "orders.estimates"
    label = "estimates"
