from django.apps import AppConfig


class CalibrationConfig(AppConfig):
    name = "orders.calibration"
    label = "calibration"

    def ready(self) -> None:
        from orders.calibration.models import CalibrationRun  # models can be imported only once the apps are ready
        from orders.calibration.runs import calibration_job
        from orders.common.runs import job_register

        job_register(CalibrationRun, calibration_job)
