from django.apps import AppConfig


class RemindersConfig(AppConfig):
    name = "orders.reminders"
    label = "reminders"
