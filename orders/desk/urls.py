"""Addresses of the pages."""

from django.contrib.auth.views import LogoutView
from django.urls import URLPattern, path, re_path

from orders.desk.views import costs, front, runs

urlpatterns: list[URLPattern] = [
    path("", front.signpost, name="signpost"),
    path("login/", front.Login.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("reports/costs/", costs.cost_report_page, name="cost-report"),
    path("reports/costs/rows/", costs.cost_rows_page, name="cost-rows"),
    re_path(r"^reports/costs/costs\.(?P<ending>csv|json)$", costs.cost_report_file, name="cost-report-file"),
    path("runs/<uuid:run_id>/", runs.run_progress, name="run-progress"),
    path("runs/<uuid:run_id>/state/", runs.run_state_document, name="run-state"),
    path("runs/<uuid:run_id>/cancel/", runs.run_stop, name="run-cancel"),
]
