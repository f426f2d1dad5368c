"""Photos of a patch: the office's own by date, and beside them those that crews took on its orders."""

from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from orders.common.clock import now
from orders.common.errors import FieldError, Invalid
from orders.common.models import User
from orders.common.pictures import picture_redrawn
from orders.common.stamp import Stamp
from orders.desk.ground.surveying import form_page, stamp_of
from orders.desk.navigation import DESK, OFFICE, page_opens_to
from orders.desk.views.pages import page, tried
from orders.sites.models import Patch
from orders.sites.patch_photos import patch_photo_get, patch_photos
from orders.sites.selectors import patch_get
from orders.sites.services import patch_photo_remove, patch_photo_restore, patch_photos_add
from orders.sites.services.photos import SMALL_TYPE, patch_photo_bytes
from orders.workorders.patch_pictures import crew_photos

WHAT = "Photos of patches"
PHOTOS_A_PAGE = 24
MOST_AT_ONCE = 12


class ManyFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """All the files that were chosen, each looked at as one."""

    def clean(self, data: Any, initial: Any = None) -> list[Any]:
        return [super(FilesField, self).clean(one, initial) for one in data or []]


class PhotosForm(forms.Form):
    photos = FilesField(
        required=False,
        label="Photos",
        help_text=f"JPEG, PNG or WebP, at most 12 MB each and {MOST_AT_ONCE} at once.",
        widget=ManyFiles(attrs={"accept": "image/jpeg,image/png,image/webp", "multiple": True}),
    )
    taken_on = forms.DateField(
        required=False,
        label="Taken on",
        help_text="Empty: the day that the camera wrote, else today.",
        widget=forms.DateInput(attrs={"type": "date"}),
    )
    caption = forms.CharField(required=False, max_length=200, label="What they show")
    keep_place = forms.BooleanField(
        required=False,
        label="Keep the place where they were taken",
        help_text="Else nothing of the camera's data stays.",
    )


@form_page
@page
def photos_page(request: HttpRequest, actor: User, patch_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK if request.method == "POST" else OFFICE, WHAT)
    patch, refusal = patch_get(patch_id), None
    form = PhotosForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        files = form.cleaned_data["photos"]
        refusal = tried(lambda: _add(patch, files, form.cleaned_data, stamp_of(actor)))
        if refusal is None:
            messages.success(request, f"{len(files)} photo{'s are' if len(files) > 1 else ' is'} added.")
            return redirect("patch-photos", patch_id)
    rows = patch_photos(patch)
    told = {
        "patch": patch,
        "form": form,
        "refusal": refusal,
        "rows": Paginator(rows, PHOTOS_A_PAGE).get_page(request.GET.get("page")),
        "down": patch_photos(patch, down=True)[:PHOTOS_A_PAGE],
        "crew": crew_photos(actor, patch, on=_today(actor)),
        "may_edit": actor.has_role(*DESK),
    }
    status = refusal.status if refusal else 400 if form.is_bound and not form.is_valid() else 200
    return render(request, "desk/ground/photos.html", told, status=status)


def _add(patch: Patch, files: list[Any], told: dict[str, Any], stamp: Stamp) -> None:
    """All of them are drawn anew before the first is kept: a bad one keeps the others out, and is named."""
    if not 0 < len(files) <= MOST_AT_ONCE:
        raise Invalid("Nothing was added.", [FieldError("photos", f"Choose 1 to {MOST_AT_ONCE} photos.")])
    most = settings.PHOTO_MAX_BYTES
    made = [
        picture_redrawn(file.read(most + 1), name=file.name, most_bytes=most, keep_place=told["keep_place"])
        for file in files
    ]
    patch_photos_add(patch=patch, pictures=made, taken_on=told["taken_on"], caption=told["caption"], stamp=stamp)


def _today(actor: User) -> Any:
    return Stamp(by=actor, at=now()).local_date(settings.PROGRAM_TIME_ZONE)


@require_safe
@page
def photo(request: HttpRequest, actor: User, photo_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    found = patch_photo_get(photo_id)
    return _sent(patch_photo_bytes(found), found.content_type)


@require_safe
@page
def photo_small(request: HttpRequest, actor: User, photo_id: UUID) -> HttpResponse:
    page_opens_to(actor, OFFICE, WHAT)
    found = patch_photo_get(photo_id)
    return _sent(patch_photo_bytes(found, small=True), SMALL_TYPE)


def _sent(data: bytes, content_type: str) -> HttpResponse:
    reply = HttpResponse(data, content_type=content_type)
    reply.headers["X-Content-Type-Options"] = "nosniff"
    return reply


@require_POST
@page
def take_down(request: HttpRequest, actor: User, photo_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    found = patch_photo_remove(photo=patch_photo_get(photo_id), stamp=stamp_of(actor))
    messages.success(request, "The photo is taken down. It stands below under Taken down, where it can be put back.")
    return redirect("patch-photos", found.patch.public_id)


@require_POST
@page
def put_back(request: HttpRequest, actor: User, photo_id: UUID) -> HttpResponse:
    page_opens_to(actor, DESK, WHAT)
    found = patch_photo_restore(photo=patch_photo_get(photo_id), stamp=stamp_of(actor))
    messages.success(request, "The photo is shown again.")
    return redirect("patch-photos", found.patch.public_id)
