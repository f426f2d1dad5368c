from django.apps import AppConfig


class DeskConfig(AppConfig):
    name = "orders.desk"
    label = "desk"
