from django.apps import AppConfig


class WorkordersConfig(AppConfig):
    name = "orders.workorders"
    label = "workorders"

    def ready(self) -> None:
        from orders.estimates.runs import repeat_years_register
        from orders.planning.windows import uses_register
        from orders.workorders.product_uses import herbicide_use_days
        from orders.workorders.selectors import repeat_years

        uses_register(herbicide_use_days)
        repeat_years_register(lambda on: repeat_years(on=on))
