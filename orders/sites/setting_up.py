"""Reads for whoever sets places up: words with how much rests on them, patches that a boundary leaves out."""

from collections.abc import Iterator
from uuid import UUID

import shapely
from django.db.models import Count, QuerySet

from orders.common.errors import NotFound
from orders.sites.models import ChecklistQuestion, GrowthForm, Jurisdiction, Patch, Site
from orders.sites.selectors import surveys_current

SLIVER_SHARE = 0.01  # of a patch: two walks round one edge differ by that much; ours, as for overlaps


def jurisdictions_known() -> QuerySet[Jurisdiction]:
    """With how many sites lie in each."""
    return Jurisdiction.objects.annotate(site_count=Count("sites")).order_by("name")


def jurisdiction_get(jurisdiction_id: UUID) -> Jurisdiction:
    found = jurisdictions_known().filter(public_id=jurisdiction_id).first()
    if found is None:
        raise NotFound("There is no such jurisdiction.")
    return found


def growth_forms_known() -> QuerySet[GrowthForm]:
    return GrowthForm.objects.order_by("code")


def growth_form_get(form_id: UUID) -> GrowthForm:
    found = growth_forms_known().filter(public_id=form_id).first()
    if found is None:
        raise NotFound("There is no such growth form.")
    return found


def questions_known() -> QuerySet[ChecklistQuestion]:
    """In the order in which they are asked, with at how many sites each was answered."""
    answered = Count("answers__site", distinct=True)
    return ChecklistQuestion.objects.annotate(site_count=answered).order_by("sort", "code")


def question_get(question_id: UUID) -> ChecklistQuestion:
    found = questions_known().filter(public_id=question_id).first()
    if found is None:
        raise NotFound("The checklist has no such question.")
    return found


def patches_outside(site: Site) -> list[tuple[Patch, bool]]:
    """Patches whose newest outline does not lie within the boundary, each with whether all of it lies outside."""
    return list(_outside(site))


def _outside(site: Site) -> Iterator[tuple[Patch, bool]]:
    ground = shapely.geometry.shape(site.boundary)
    shapely.prepare(ground)
    for survey in surveys_current().filter(patch__site=site).prefetch_related(None):
        shape = shapely.geometry.shape(survey.geometry)
        if ground.covers(shape):
            continue
        beyond = shape.difference(ground)
        if not shape.area or beyond.area > SLIVER_SHARE * shape.area:
            yield survey.patch, not shape.intersects(ground)
