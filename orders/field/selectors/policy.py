"""The program's own rules for work outside."""

from orders.field.models import FieldPolicy


def field_policy() -> FieldPolicy:
    """The one row; before anybody wrote it, what the model begins with."""
    return FieldPolicy.objects.order_by("id").first() or FieldPolicy()
