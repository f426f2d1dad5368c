"""Reads of methods, rate books and estimates. Estimates use standard rates by role, so every desk role may see them."""

from collections.abc import Iterable
from uuid import UUID

from django.db.models import QuerySet

from orders.common.errors import NotFound
from orders.estimates.models import Estimate, Method, RateBook
from orders.sites.models import Survey


def methods() -> QuerySet[Method]:
    related = Method.objects.select_related("qualification", "default_mix")
    return related.prefetch_related("default_mix__parts__product").order_by("code")


def method_get(code: str) -> Method:
    found = methods().filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no method {code}.")
    return found


def rate_books() -> QuerySet[RateBook]:
    return RateBook.objects.order_by("-edition", "name")


def rate_book_get(book_id: UUID) -> RateBook:
    found = rate_books().filter(public_id=book_id).first()
    if found is None:
        raise NotFound("There is no such rate book.")
    return found


def rate_book_in_force() -> RateBook:
    found = rate_books().filter(state="in_force").first()
    if found is None:
        raise NotFound("No rate book is in force. Load one and put it in force first.")
    return found


def estimates() -> QuerySet[Estimate]:
    related = Estimate.objects.select_related("survey__patch__site", "method", "rate_book", "mix")
    return related.order_by("-id")


def estimate_get(estimate_id: UUID) -> Estimate:
    found = estimates().filter(public_id=estimate_id).first()
    if found is None:
        raise NotFound("There is no such estimate.")
    return found


def estimates_newest(surveys: Iterable[Survey]) -> dict[tuple[int, str], Estimate]:
    """The newest estimate by survey and method."""
    found: dict[tuple[int, str], Estimate] = {}
    for estimate in estimates().filter(survey__in=list(surveys)).order_by("id"):
        found[estimate.survey_id, estimate.method.code] = estimate
    return found
