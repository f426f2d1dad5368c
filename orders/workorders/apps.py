from django.apps import AppConfig


class WorkordersConfig(AppConfig):
    name = "orders.workorders"
    label = "workorders"

    def ready(self) -> None:
        from orders.planning.windows import uses_register
        from orders.workorders.product_uses import herbicide_use_days

        uses_register(herbicide_use_days)
