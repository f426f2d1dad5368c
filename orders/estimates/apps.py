from django.apps import AppConfig


class EstimatesConfig(AppConfig):
    name = "orders.estimates"
    label = "estimates"

    def ready(self) -> None:
        from orders.common.runs import job_register  # models can be imported only once the apps are ready
        from orders.estimates.models import EstimateRun
        from orders.estimates.runs import estimate_job

        job_register(EstimateRun, estimate_job)
