"""The administration pages let in who came by the desk's own login, and chose an own password there."""

from typing import Any
from urllib.parse import urlencode

from django.contrib.admin import AdminSite
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from orders.common.selectors import MUST_CHOOSE


class Administration(AdminSite):
    site_header = site_title = "Fencerow administration"
    index_title = "Master data and records"

    def has_permission(self, request: HttpRequest) -> bool:
        return super().has_permission(request) and not request.session.get(MUST_CHOOSE)

    def login(self, request: HttpRequest, extra_context: dict[str, Any] | None = None) -> HttpResponse:
        if request.session.get(MUST_CHOOSE):
            return redirect("setup-password")
        index = reverse("admin:index", current_app=self.name)
        if self.has_permission(request):
            return redirect(index)
        if request.user.is_authenticated:
            raise PermissionDenied
        return redirect(f"{reverse('login')}?{urlencode({'next': request.GET.get('next', index)})}")
