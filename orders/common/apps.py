from django.apps import AppConfig
from django.core.checks import Tags, register
from django.db.models.signals import post_migrate  # noqa: TID251 - not a model signal: a table rebuild drops triggers

from orders.common.appendonly import triggers_check, triggers_install_after_migrate


class CommonConfig(AppConfig):
    name = "orders.common"
    label = "common"

    def ready(self) -> None:
        post_migrate.connect(triggers_install_after_migrate)
        register(triggers_check, Tags.database)
