"""The addresses of pages about money."""

from django.urls import URLPattern, path, re_path

from orders.desk.views import costs

urlpatterns: list[URLPattern] = [
    path("reports/costs/", costs.cost_report_page, name="cost-report"),
    path("reports/costs/rows/", costs.cost_rows_page, name="cost-rows"),
    re_path(r"^reports/costs/costs\.(?P<ending>csv|json)$", costs.cost_report_file, name="cost-report-file"),
]
