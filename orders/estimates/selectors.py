"""Reads of methods, rate books and estimates. Estimates use standard rates by role, so every desk role may see them."""

from datetime import date
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet

from orders.common.errors import NotFound
from orders.common.models import Change
from orders.estimates.models import Estimate, EstimateRun, Method, MethodEquipment, RateBook
from orders.sites.models import Survey
from orders.supplies.models import Mix


def methods() -> QuerySet[Method]:
    related = Method.objects.select_related("qualification", "default_mix")
    return related.prefetch_related("default_mix__parts__product").order_by("code")


def method_names() -> dict[str, str]:
    """By code, the retired ones too: lists and filters speak of what was done before."""
    return dict(Method.objects.order_by("code").values_list("code", "name"))


def method_get(code: str) -> Method:
    found = methods().filter(code=code).first()
    if found is None:
        raise NotFound(f"There is no method {code}.")
    return found


def method_of(method_id: UUID) -> Method:
    found = methods().filter(public_id=method_id).first()
    if found is None:
        raise NotFound("There is no such method.")
    return found


def methods_done_with(mix: Mix) -> list[str]:
    """Names of the methods in use that are done with a mix."""
    return list(Method.objects.filter(default_mix=mix, is_active=True).order_by("name").values_list("name", flat=True))


def equipment_needed() -> dict[int, dict[str, int]]:
    """Units of each kind that a crew has with it, by the key of the method and the code of the kind."""
    found: dict[int, dict[str, int]] = {}
    rows = MethodEquipment.objects.order_by("method_id", "equipment__code")
    for method_id, code, units in rows.values_list("method_id", "equipment__code", "units_per_crew"):
        found.setdefault(method_id, {})[code] = units
    return found


def rate_books() -> QuerySet[RateBook]:
    return RateBook.objects.order_by("-edition", "name")


def rate_book_get(book_id: UUID) -> RateBook:
    found = rate_books().filter(public_id=book_id).first()
    if found is None:
        raise NotFound("There is no such rate book.")
    return found


def rate_book_named(words: str) -> RateBook:
    """A book as people name it: "Staff crews 2", or the kind of crew for the one in force."""
    if words in dict(RateBook.CREW_KINDS):
        return rate_book_in_force(words)
    name, _, edition = words.rpartition(" ")
    found = rate_books().filter(name=name, edition=int(edition)).first() if edition.isdecimal() else None
    if found is None:
        kinds = " or ".join(code for code, _ in RateBook.CREW_KINDS)
        raise NotFound(f"There is no rate book {words}. Give its name and edition, or {kinds} for the one in force.")
    return found


def rate_book_in_force(crew_kind: str = "staff", on: date | None = None) -> RateBook:
    """The book in force for a kind of crew; with a day, the one that holds on that day.

    A book that begins later is in force from its first day on; until then the one before it holds. Before the first
    book's first day that first book stands in.
    """
    of_kind = rate_books().filter(crew_kind=crew_kind)
    found = of_kind.filter(state="in_force").first()
    if on is not None and (found is None or found.in_force_from is None or found.in_force_from > on):
        held = of_kind.filter(state="retired", in_force_from__lte=on, in_force_until__gte=on)
        found = held.order_by("-in_force_from", "-edition").first() or found
    if found is None:
        whom = "" if crew_kind == "staff" else f" for {crew_kind}"
        raise NotFound(f"No rate book is in force{whom}. Load one and put it in force first.")
    return found


def rate_books_holding(on: date) -> dict[str, RateBook]:
    """The book that holds on a day, by kind of crew; a kind without one is absent."""
    kinds = RateBook.objects.filter(state="in_force").order_by().values_list("crew_kind", flat=True).distinct()
    return {kind: rate_book_in_force(kind, on) for kind in kinds}


def rate_book_changes(book: RateBook) -> QuerySet[Change]:
    """Who changed what in a book and when, the newest first."""
    return Change.objects.filter(entity="ratebook", entity_id=book.public_id).select_related("actor").order_by("-id")


def estimates() -> QuerySet[Estimate]:
    related = Estimate.objects.select_related("survey__patch__site", "method", "rate_book", "mix")
    return related.order_by("-id")


def estimate_get(estimate_id: UUID) -> Estimate:
    found = estimates().filter(public_id=estimate_id).first()
    if found is None:
        raise NotFound("There is no such estimate.")
    return found


def estimate_history(estimate: Estimate) -> list[Estimate]:
    """Estimates of the same patch by the same method for the same kind of crew, the newest first.

    An estimate is never changed: another survey, rate book or price makes a new one beside it.
    """
    same = estimates().filter(
        survey__patch_id=estimate.survey.patch_id,
        method_id=estimate.method_id,
        rate_book__crew_kind=estimate.rate_book.crew_kind,
    )
    return list(same.defer("inputs", "survey__geometry", "survey__patch__site__boundary"))


def estimate_runs() -> QuerySet[EstimateRun]:
    """Background runs that estimate every patch, the newest first."""
    return EstimateRun.objects.select_related("asked_by").order_by("-id")


def estimate_run_get(run_id: UUID) -> EstimateRun:
    found = estimate_runs().filter(public_id=run_id).first()
    if found is None:
        raise NotFound("There is no such run of estimates.")
    return found


def surveys_unestimated(surveys: QuerySet[Survey], crew_kind: str, on: date) -> QuerySet[Survey]:
    """Those of the surveys that nothing was estimated on yet by the rate book that holds for a kind of crew."""
    book = rate_books_holding(on).get(crew_kind)
    made = Estimate.objects.filter(rate_book=book, survey=OuterRef("pk")) if book else Estimate.objects.none()
    return surveys.filter(~Exists(made))
