from django.apps import AppConfig


class EstimatesConfig(AppConfig):
    name = "orders.estimates"
    label = "estimates"

    def ready(self) -> None:
        from orders.common.runs import job_register  # models can be imported only once the apps are ready
        from orders.estimates.models import EstimateRun
        from orders.estimates.runs import estimate_job
        from orders.estimates.selectors import methods_done_with
        from orders.supplies.services.use import mix_users_register

        job_register(EstimateRun, estimate_job)
        mix_users_register(methods_done_with)
