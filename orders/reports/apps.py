from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "orders.reports"
    label = "reports"

    def ready(self) -> None:
        from orders.common.runs import job_register  # models can be imported only once the apps are ready
        from orders.reports.models import ExportRun
        from orders.reports.runs import export_job

        job_register(ExportRun, export_job)
