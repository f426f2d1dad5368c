"""Every address of the program."""

from django.contrib import admin
from django.urls import URLPattern, URLResolver, include, path

from orders.api.health import Healthz, Readyz

urlpatterns: list[URLPattern | URLResolver] = [
    path("admin/", admin.site.urls),
    path("api/", include("orders.api.urls")),
    path("healthz", Healthz.as_view(), name="healthz"),
    path("readyz", Readyz.as_view(), name="readyz"),
    path("tablet/", include("orders.tablet.urls")),
    path("", include("orders.desk.urls")),
]
handler400 = "orders.api.problems.bad_request"
handler403 = "orders.api.problems.forbidden"
handler404 = "orders.api.problems.not_found"
handler500 = "orders.api.problems.server_error"
