"""Every error in one shape, RFC 9457 problem details: refusals, the framework's own errors, unknown addresses."""

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import set_rollback

from estimating.errors import EstimatingError
from orders.bodies.errors import errors_flat
from orders.common.errors import FieldError, Refusal

MEDIA_TYPE = "application/problem+json"
WAIT = "retry_after_seconds"  # of a refusal's data: told as a header too


def problem(
    *,
    status: int,
    code: str,
    title: str,
    detail: str = "",
    errors: list[FieldError] | None = None,
    data: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    body: dict[str, Any] = {"type": f"/api/problems/{code}", "status": status, "code": code, "title": title}
    if detail:
        body["detail"] = detail
    if errors:
        body["errors"] = [error.as_dict() for error in errors]
    return body | ({"data": dict(data)} if data else {})


def _response(body: dict[str, Any], headers: Mapping[str, str] | None = None) -> Response:
    return Response(body, status=body["status"], headers=dict(headers or {}), content_type=MEDIA_TYPE)


def refusal_problem(refusal: Refusal) -> dict[str, Any]:
    return problem(
        status=refusal.status,
        code=refusal.code,
        title=refusal.title,
        detail=refusal.detail,
        errors=refusal.errors,
        data=refusal.data,
    )


def _framework_problem(error: exceptions.APIException) -> dict[str, Any]:
    title = HTTPStatus(error.status_code).phrase
    if isinstance(error, exceptions.ValidationError):
        return problem(status=400, code="invalid", title="Some of the input is wrong", errors=errors_flat(error.detail))
    code = error.get_codes()
    return problem(
        status=error.status_code,
        code=code if isinstance(code, str) else error.default_code,
        title=title,
        detail=str(error.detail),
    )


def _estimating_problem(error: EstimatingError) -> dict[str, Any]:
    errors = [FieldError(error.field or "rows", error.message, error.row, error.code)]
    return problem(
        status=400, code=error.code, title="The estimate cannot be made", detail=error.message, errors=errors
    )


def problem_handler(error: Exception, context: Mapping[str, Any]) -> Response | None:
    """DRF's EXCEPTION_HANDLER. None lets an unexpected error through to handler500."""
    headers: dict[str, str] = {}
    if isinstance(error, Refusal):
        body = refusal_problem(error)
        headers = {"Retry-After": str(wait)} if (wait := error.data.get(WAIT)) else {}
    elif isinstance(error, EstimatingError):
        body = _estimating_problem(error)
    elif isinstance(error, Http404):
        body = problem(status=404, code="not_found", title="Not found")
    elif isinstance(error, PermissionDenied):
        body = problem(status=403, code="role_missing", title="Your role does not open this")
    elif isinstance(error, exceptions.APIException):
        body, headers = _framework_problem(error), _headers(error)
    else:
        return None
    set_rollback()
    return _response(body, headers)


def _headers(error: exceptions.APIException) -> dict[str, str]:
    headers = {}
    if getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = str(error.auth_header)  # type: ignore[attr-defined]  # set by the view
    if getattr(error, "wait", None):
        headers["Retry-After"] = str(int(error.wait) + 1)  # type: ignore[attr-defined]  # of Throttled
    return headers


def _page_or_problem(request: HttpRequest, status: int, code: str, title: str) -> HttpResponse:
    if request.path.startswith(("/api/", "/tablet/sync/")):
        return JsonResponse(problem(status=status, code=code, title=title), status=status, content_type=MEDIA_TYPE)
    return render(request, "desk/error.html", {"status": status, "title": title}, status=status)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page_or_problem(request, 400, "bad_request", "The request could not be read")


def forbidden(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page_or_problem(request, 403, "role_missing", "Your role does not open this")


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page_or_problem(request, 404, "not_found", "Not found")


def server_error(request: HttpRequest) -> HttpResponse:
    return _page_or_problem(request, 500, "server_error", "Something went wrong on the server")
