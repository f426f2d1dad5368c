from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "orders.api"
    label = "api"

    def ready(self) -> None:
        from orders.common.runs import job_register  # models can be imported only once the apps are ready
        from orders.in_background import season_prescribe_job
        from orders.planning.models import SeasonPrescribeRun

        job_register(SeasonPrescribeRun, season_prescribe_job)
