"""A label or a safety data sheet from its product's page."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_safe

from orders.common.models import User
from orders.desk.navigation import EVERY_ROLE, page_opens_to
from orders.desk.views.pages import page
from orders.supplies.selectors import document_get


@require_safe
@page
def product_document_file(request: HttpRequest, actor: User, document_id: UUID) -> HttpResponse:
    """The file as it was handed in; a browser shows it beside the program, never as part of it."""
    page_opens_to(actor, EVERY_ROLE, "Labels and safety data sheets")
    found = document_get(document_id)
    reply = HttpResponse(bytes(found.file_bytes), content_type=found.content_type)
    reply.headers["Content-Disposition"] = str(content_disposition_header(False, found.file_name))
    reply.headers["X-Content-Type-Options"] = "nosniff"
    return reply
