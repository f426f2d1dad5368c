"""Names the site of the administration pages; apart from it, since this is read before there are any models."""

from django.contrib.admin.apps import AdminConfig


class AdministrationConfig(AdminConfig):
    default_site = "orders.desk.admin_site.Administration"
