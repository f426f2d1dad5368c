from django.apps import AppConfig


class PlanningConfig(AppConfig):
    name = "orders.planning"
    label = "planning"

    def ready(self) -> None:
        from orders.common.runs import job_register  # models can be imported only once the apps are ready
        from orders.planning.models import PlanBoundRun, PlanRun
        from orders.planning.runs import bound_job, plan_job
        from orders.planning.selectors import surveys_prescribed
        from orders.sites.services.surveys import survey_hold_register

        job_register(PlanRun, plan_job)
        job_register(PlanBoundRun, bound_job)
        survey_hold_register("carry estimates that prescriptions use", surveys_prescribed)
