from django.apps import AppConfig


class SitesConfig(AppConfig):
    name = "orders.sites"
    label = "sites"

    def ready(self) -> None:
        from orders.common.runs import job_register  # models can be imported only once the apps are ready
        from orders.sites.models import SurveyImport
        from orders.sites.runs import survey_import_job

        job_register(SurveyImport, survey_import_job)
