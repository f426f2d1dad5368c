"""The API's own description, the page that shows it, and what each problem code means."""

from typing import Any

from csp.decorators import csp_update
from django.utils.decorators import method_decorator
from drf_spectacular.renderers import OpenApiJsonRenderer, OpenApiJsonRenderer2
from drf_spectacular.views import SpectacularSwaggerSplitView
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from orders.api.base import Endpoint
from orders.api.catalog import Meaning, meanings
from orders.api.operations import shows
from orders.api.renderers import NegotiationNone, PageRenderer
from orders.api.schema import description
from orders.api.shapes import Out
from orders.common.errors import NotFound


class Schema(Endpoint):
    endpoint = "schema"
    schema = None
    renderer_classes = (OpenApiJsonRenderer2, OpenApiJsonRenderer)

    def get(self, request: Request) -> Response:
        """OpenAPI 3.1."""
        return Response(description())


@method_decorator(csp_update({"style-src": ["'unsafe-inline'"]}), name="dispatch")
class Docs(SpectacularSwaggerSplitView):
    """The description as a page; its script comes by itself, so that no script stands in the page. Its styles do."""

    endpoint = "docs"
    schema = None
    url_name = "api:schema"
    content_negotiation_class = NegotiationNone
    renderer_classes = [PageRenderer]


class MeaningOut(Out):
    code = serializers.CharField()
    status = serializers.IntegerField()
    title = serializers.CharField()
    meaning = serializers.CharField()


class ProblemOne(Endpoint):
    endpoint = "problem"

    @shows(MeaningOut)
    def get(self, code: Any) -> Meaning:
        """What a problem's code means: the page behind its `type`."""
        found = meanings().get(code)
        if found is None:
            raise NotFound("There is no such problem code.")
        return found
