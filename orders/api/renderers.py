"""How a reply is written. JSON is the rule; tables may be had as CSV."""

from types import SimpleNamespace
from typing import Any

from rest_framework.negotiation import BaseContentNegotiation, DefaultContentNegotiation
from rest_framework.renderers import BaseRenderer, JSONRenderer, TemplateHTMLRenderer
from rest_framework.request import Request


class Negotiation(DefaultContentNegotiation):
    """By the Accept header; `?format=` decides only where there is something to choose from."""

    settings = SimpleNamespace(URL_FORMAT_OVERRIDE=None)  # type: ignore[assignment]  # all that the base class reads

    def select_renderer(
        self, request: Request, renderers: Any, format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        asked = request.query_params.get("format") if len(renderers) > 1 else None
        for renderer in renderers:
            if renderer.format == asked:
                return renderer, renderer.media_type
        chosen: tuple[BaseRenderer, str] = super().select_renderer(request, renderers)
        return chosen


class NegotiationNone(BaseContentNegotiation):
    """One form only, whatever the client would like."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        return parsers[0] if parsers else None

    def select_renderer(
        self, request: Request, renderers: Any, format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        return renderers[0], renderers[0].media_type


class CsvRenderer(BaseRenderer):
    """RFC 4180 with a header row, as the media type says. A problem stays a problem in JSON."""

    media_type = "text/csv"
    format = "csv"
    charset = "utf-8"

    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Any = None) -> Any:
        return data if isinstance(data, str) else JSONRenderer().render(data)


class PageRenderer(TemplateHTMLRenderer):
    """A page of the description; a problem stays a problem in JSON."""

    def render(self, data: Any, accepted_media_type: str | None = None, renderer_context: Any = None) -> Any:
        if renderer_context["response"].exception:
            return JSONRenderer().render(data)
        return super().render(data, accepted_media_type, renderer_context)
